import { counted, countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { asOctets } from './color-values.js';
import { Column } from './column.js';
import { warnOfLacking } from './lacking-faces.js';
import { parseObj } from './obj-parse.js';
import { namesAllNormals, type ObjBase, type ObjLines, ObjPart } from './obj-part.js';
import { UNIT_LINES } from './obj-statement.js';
import type { ReadyLines } from './obj-stretch.js';
import { PolygonList } from './polygons.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { readLastLine } from './text-lines.js';
import type { LengthUnit } from './units.js';

/** Bytes of `v 0 0 0` and a line end. */
const SHORTEST_VERTEX = 8;

/**
 * OBJ (Alias|Wavefront, "Object Files (.obj)", appendix B1): vertices with or without weight and color, normals, and faces in
 * every form of index; all objects and groups of a file make one scan. Textures, materials, points and lines are passed over,
 * free-form curves and surfaces too, with a warning, and lines that are no statement.
 *
 * A point keeps the first normal a face names for it: the format lets every corner have its own, a scan has one a point.
 * Where faces name none and there are as many normals as points, they belong together in order.
 * Errors: `bad-number`, `wrong-count`, `bad-face`, `index-out-of-range`, `record-too-long`.
 */
export class ObjReader implements FormatReader {
  readonly format = 'obj';
  readonly encoding = 'text';
  readonly #context: ReadContext;
  readonly #window: ByteWindow;
  readonly #base: ObjBase = { points: 0, normals: 0, lines: 0 };
  readonly #part = new ObjPart();
  readonly #positions = new Column(Float64Array);
  readonly #normals = new Column(Float32Array);
  readonly #colors = new Column(Float32Array);
  readonly #triangles = new Column(Uint32Array);
  readonly #polygons = new PolygonList();
  /** For each point the number of its normal from 1, 0 for none; absent while each point's normal has its number. */
  #normalOf: Uint32Array | undefined;
  #namesNormals = false;
  /** Whether there are faces that name no normal. */
  #leavesOutNormals = false;
  #largest = { point: -1, pointLine: 0, normal: -1, normalLine: 0 };
  #unknown = { count: 0, line: 0, text: '' };
  #curves = 0;
  #lacking = 0;
  #unit: LengthUnit | undefined;

  readonly #refuse = (code: string, what: string): Error => refusal(this.#context.name, code, what);

  constructor(context: ReadContext, capacity?: number) {
    this.#context = context;
    this.#window = new ByteWindow(context.name, (have, last) => this.#consume(have, last), capacity);
  }

  push(bytes: Uint8Array): void {
    this.#window.push(bytes);
  }

  /** Takes lines that are read already and follow on what was pushed last, which ends in whole lines. */
  takeReady(lines: ReadyLines): void {
    // What came before ends where these lines begin.
    this.#window.end();
    this.#take(lines, true);
  }

  async end(): Promise<FileContents> {
    const { name, warnings, ahead } = this.#context;
    this.#window.end();
    readLastLine(this.#window, this.#context, () => this.#base.lines);
    this.#checkIndices();
    const { count, line, text } = this.#unknown;
    if (count > 0) {
      warnings.push({
        code: 'unknown-statements',
        message: `${name}: ${counted(count, 'line')} no OBJ file has passed over, first line ${countText(line)}: '${text}'.`,
      });
    }
    if (this.#curves > 0) {
      warnings.push({
        code: 'curves-passed-over',
        message: `${name}: ${counted(this.#curves, 'line')} about free-form curves and surfaces passed over.`,
      });
    }
    warnOfLacking(this.#lacking, this.#context);
    const hasTriangles = this.#triangles.length > 0;
    const normals = await this.#takeNormals();
    const colors = this.#colors.length > 0 ? asOctets(this.#colors.take()) : undefined;
    return {
      positions: await this.#positions.takeAhead(ahead),
      ...(hasTriangles && { triangles: await this.#triangles.takeAhead(ahead), polygons: this.#polygons }),
      ...(normals && { normals }),
      ...(colors && { colors }),
      ...(this.#unit && { unit: this.#unit }),
    };
  }

  /** Parses the whole statements that wait; a line that a backslash continues is not whole. */
  #consume(have: number, last: boolean): number {
    const { bytes } = this.#window;
    const isWhole = last && have > 0 && (bytes[have - 1] === 10 || bytes[have - 1] === 13);
    const to = isWhole ? have : endOfStatements(bytes, have);
    if (to === 0) return 0;
    const part = this.#part;
    part.clear(to);
    parseObj(bytes, to, part, this.#base, this.#refuse);
    this.#take(part);
    return to;
  }

  /** @param isReady whether the arrays are filled to their ends, and this reader's from now on */
  #take(part: ObjLines, isReady = false): void {
    const base = this.#base;
    if (part.colors > 0 && this.#colors.length === 0)
      this.#colors.append(new Float32Array(3 * base.points).fill(Number.NaN));
    if (part.colors > 0 || this.#colors.length > 0) {
      this.#colors.append(part.colorValues.subarray(0, part.colors));
      this.#colors.append(new Float32Array(3 * part.points - part.colors).fill(Number.NaN));
    }
    const linesBefore = base.lines;
    base.points += part.points;
    base.normals += part.normalCount;
    base.lines += part.lines;
    this.#takeNames(part);
    this.#polygons.append(part.polygons.subarray(0, part.polygonValues), this.#triangles.length / 3);
    if (isReady) {
      this.#positions.adopt(part.positions);
      this.#normals.adopt(part.normals as Float32Array<ArrayBuffer>);
      this.#triangles.adopt(part.triangles);
    } else {
      this.#positions.append(part.positions.subarray(0, 3 * part.points));
      this.#normals.append(part.normals.subarray(0, 3 * part.normalCount));
      this.#triangles.append(part.triangles.subarray(0, part.corners));
    }
    if (part.largestPoint > this.#largest.point) {
      this.#largest.point = part.largestPoint;
      this.#largest.pointLine = linesBefore + part.largestPointLine;
    }
    if (part.largestNormal > this.#largest.normal) {
      this.#largest.normal = part.largestNormal;
      this.#largest.normalLine = linesBefore + part.largestNormalLine;
    }
    if (part.unknown > 0) {
      if (this.#unknown.count === 0)
        this.#unknown = { count: 0, line: linesBefore + part.unknownLine, text: part.unknownText };
      this.#unknown.count += part.unknown;
    }
    this.#curves += part.curves;
    this.#lacking += part.lacking;
    if (linesBefore + part.unitLine <= UNIT_LINES) this.#unit ??= part.unit;
  }

  /** Which point has which normal, as the part's faces say; nothing is written down while each point's normal has its number. */
  #takeNames(part: ObjLines): void {
    if (part.corners === 0) return;
    const names = part.cornerPairs > 0;
    const areOwn = names && part.normalsMatch && namesAllNormals(part);
    if (this.#normalOf === undefined && (names || this.#namesNormals) && (!areOwn || this.#leavesOutNormals)) {
      this.#normalOf = new Uint32Array(this.#pointsNamed(part));
      if (this.#namesNormals) this.#triangles.forEachBlock((block) => this.#nameOwn(block, block.length));
    }
    if (names) this.#namesNormals = true;
    if (!areOwn) this.#leavesOutNormals ||= !names;
    if (this.#normalOf === undefined) return;
    const points = this.#pointsNamed(part);
    if (this.#normalOf.length < points) {
      const larger = new Uint32Array(Math.max(points, Math.floor(this.#normalOf.length * 1.5)));
      larger.set(this.#normalOf);
      this.#normalOf = larger;
    }
    if (areOwn) this.#nameOwn(part.triangles, part.corners);
    else this.#namePairs(part);
  }

  /** Points so far, or as many as the faces name before they come, if the file can hold so many. */
  #pointsNamed(part: ObjLines): number {
    const most = Math.floor((this.#context.total ?? 0) / SHORTEST_VERTEX);
    return Math.max(this.#base.points, Math.min(Math.max(part.largestPoint, this.#largest.point) + 1, most));
  }

  /** Names for each corner's point the normal of its number. */
  #nameOwn(corners: Uint32Array, count: number): void {
    const normalOf = this.#normalOf!;
    for (let i = 0; i < count; i++) {
      const v = corners[i];
      if (v < normalOf.length && normalOf[v] === 0) normalOf[v] = v + 1;
    }
  }

  #namePairs({ cornerNormals, cornerPairs }: ObjLines): void {
    const normalOf = this.#normalOf!;
    for (let i = 0; i < cornerPairs; i += 2) {
      const v = cornerNormals[i];
      if (v < normalOf.length && normalOf[v] === 0) normalOf[v] = cornerNormals[i + 1] + 1;
    }
  }

  #checkIndices(): void {
    const { points, normals } = this.#base;
    const { point, pointLine, normal, normalLine } = this.#largest;
    const { name } = this.#context;
    const beyond = (line: number, kind: string, index: number, have: string) =>
      refusal(
        name,
        'index-out-of-range',
        `line ${countText(line)}: a face names ${kind} ${countText(index + 1)}; the file has ${have}. Export it again.`,
      );
    if (point >= points) throw beyond(pointLine, 'vertex', point, counted(points, 'vertex', 'vertices'));
    if (normal >= normals) throw beyond(normalLine, 'normal', normal, counted(normals, 'normal'));
  }

  async #takeNormals(): Promise<Float32Array | undefined> {
    const { points, normals } = this.#base;
    if (normals === 0) return undefined;
    const values = await this.#normals.takeAhead(this.#context.ahead);
    if (this.#normalOf === undefined) {
      if (values.length === 3 * points) return values;
      if (!this.#namesNormals) {
        this.#context.warnings.push({
          code: 'normals-unused',
          message: `${this.#context.name}: ${counted(normals, 'normal')} that no face names, for ${counted(points, 'point')}: left out.`,
        });
        return undefined;
      }
      const own = new Float32Array(3 * points);
      own.set(values.subarray(0, own.length));
      return own;
    }
    const own = new Float32Array(3 * points);
    const normalOf = this.#normalOf;
    for (let v = 0; v < Math.min(points, normalOf.length); v++) {
      const n = 3 * (normalOf[v] - 1);
      if (n < 0) continue;
      own[3 * v] = values[n];
      own[3 * v + 1] = values[n + 1];
      own[3 * v + 2] = values[n + 2];
    }
    return own;
  }
}

/** Where the whole statements among the first `have` bytes end: behind the last line end that no backslash precedes. */
function endOfStatements(bytes: Uint8Array, have: number): number {
  let lone = 0;
  for (let i = have; i > 0; i--) {
    const c = bytes[i - 1];
    if (c === 10) {
      const before = i > 1 && bytes[i - 2] === 13 ? i - 3 : i - 2;
      if (before < 0 || bytes[before] !== 92) return i;
    } else if (c === 13 && lone === 0 && i < have && bytes[i] !== 10 && bytes[i - 2] !== 92) lone = i;
  }
  return lone;
}
