import { Column } from './column.js';
import { excerpt } from './excerpt.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import {
  contentsText,
  type Model,
  type ModelObject,
  ModelReader,
  type Placed,
  type Transform,
} from './threemf-model.js';
import type { LengthUnit } from './units.js';
import { attributesOf, forEachTag, tagName } from './xml-tags.js';
import { entryKey, unpack, type ZipEntry, zipEntries } from './zip.js';

/** Units of the standard: as ours, and a factor where ours have none. */
const units: Readonly<Record<string, readonly [LengthUnit, number]>> = {
  micron: ['mm', 1e-3],
  millimeter: ['mm', 1],
  centimeter: ['cm', 1],
  inch: ['inch', 1],
  foot: ['inch', 12],
  meter: ['m', 1],
};

/** More than a build may place: some gigabytes of arrays. A few lines of components can ask for any number. */
const MOST = { triangles: 200_000_000, points: 200_000_000, placements: 1_000_000 };

/**
 * 3MF (ISO/IEC 25422): all that the build places, transformed, as one scan; where there is no build, all objects that no other has as a
 * component. Model parts of their own (the production extension) are followed; materials, colors and slices are passed over.
 * A transform that mirrors turns the triangles, so that outside stays outside.
 * The packed file is held until its end, for its directory stands there; models are unpacked piece by piece.
 * Errors: `bad-archive`, `bad-model`, `bad-number`, `index-out-of-range`, `cut-short`, `too-large`.
 */
export class ThreeMfReader implements FormatReader {
  readonly format = '3mf';
  readonly encoding = 'text';
  readonly #context: ReadContext;
  readonly #bytes = new Column(Uint8Array);
  #entries: ReadonlyMap<string, ZipEntry> = new Map();
  /** Model parts read, by the keys of their names. */
  readonly #models = new Map<string, Model>();

  constructor(context: ReadContext) {
    this.#context = context;
  }

  push(bytes: Uint8Array): void {
    this.#bytes.append(bytes);
  }

  async end(): Promise<FileContents> {
    const { name, warnings } = this.#context;
    this.#entries = zipEntries(this.#bytes.take(), name);
    const root = await this.#rootModel();
    const model = await this.#model(root);
    await this.#readParts(root);
    let build: readonly Placed[] = model.build;
    if (build.length === 0) {
      build = this.#unplaced(model);
      if (build.length > 0) {
        warnings.push({
          code: 'no-build',
          message: `${name}: its build places nothing: all its objects taken as they stand.`,
        });
      }
    }
    const [unit, factor] = units[model.unit] ?? this.#unknownUnit(model.unit);
    const placement = new Placement(name, (path, id) => this.#object(path, id));
    const contents = placement.place(root, build);
    if (factor !== 1) for (let i = 0; i < contents.positions.length; i++) contents.positions[i] *= factor;
    return { ...contents, unit };
  }

  /** The part that the package names as its model. */
  async #rootModel(): Promise<string> {
    const relations = this.#entries.get('_rels/.rels');
    let target: string | undefined;
    if (relations !== undefined) {
      const pieces = new Column(Uint8Array);
      await unpack(relations, this.#context.name, (piece) => pieces.append(piece));
      const bytes = pieces.take();
      forEachTag(bytes, bytes.length, this.#context.name, (from, to) => {
        const { name, attributes: at } = tagName(bytes, from, to);
        if (name !== 'Relationship') return;
        const attributes = attributesOf(bytes, at, to);
        if (attributes.get('Type')?.endsWith('/3dmodel')) target ??= attributes.get('Target');
      });
    }
    return entryKey(target ?? '3D/3dmodel.model');
  }

  async #model(key: string): Promise<Model> {
    const { name } = this.#context;
    const known = this.#models.get(key);
    if (known !== undefined) return known;
    const entry = this.#entries.get(key);
    if (entry === undefined) {
      const holds =
        Array.from(this.#entries.values(), (e) => excerpt(e.name))
          .slice(0, 5)
          .join(', ') || 'nothing';
      throw refusal(
        name,
        'bad-model',
        `a zip archive without the model '${excerpt(key)}' of a 3MF file; it holds ${holds}. Export it as 3MF, PLY, OBJ or STL.`,
      );
    }
    const reader = new ModelReader(name, entry.name);
    await unpack(entry, name, (piece) => reader.push(piece));
    const model = reader.end();
    this.#models.set(key, model);
    return model;
  }

  /** Reads the model parts that others name, and those they name. */
  async #readParts(root: string): Promise<void> {
    const waiting = [root];
    for (let key = waiting.pop(); key !== undefined; key = waiting.pop()) {
      const model = await this.#model(key);
      const placed = [...model.build, ...Array.from(model.objects.values()).flatMap((object) => object.components)];
      for (const { path } of placed) {
        if (path !== undefined && !this.#models.has(entryKey(path))) waiting.push(entryKey(path));
      }
    }
  }

  #object(path: string, id: string): ModelObject {
    const object = this.#models.get(path)?.objects.get(id);
    if (object === undefined) {
      throw refusal(
        this.#context.name,
        'bad-model',
        `object ${excerpt(id)} is placed and is not in '${excerpt(path)}'. Export it again.`,
      );
    }
    return object;
  }

  #unplaced(model: Model): Placed[] {
    const used = new Set(Array.from(model.objects.values()).flatMap((object) => object.components.map((c) => c.id)));
    return Array.from(model.objects.keys())
      .filter((id) => !used.has(id))
      .map((id) => ({ id }));
  }

  #unknownUnit(unit: string): never {
    throw refusal(
      this.#context.name,
      'bad-model',
      `unknown unit '${excerpt(unit)}'; the standard has ${Object.keys(units).join(', ')}. Export it again.`,
    );
  }
}

interface Count {
  readonly points: number;
  readonly triangles: number;
  readonly placements: number;
}

/** Puts placed objects into one pair of arrays, after counting what they will hold. */
class Placement {
  readonly #name: string;
  readonly #find: (path: string, id: string) => ModelObject;
  readonly #counts = new Map<ModelObject, Count>();
  /** Objects being counted: one that meets itself is its own component. */
  readonly #open = new Set<ModelObject>();
  #positions = new Float64Array(0);
  #triangles = new Uint32Array(0);
  #points = 0;
  #corners = 0;

  constructor(name: string, find: (path: string, id: string) => ModelObject) {
    this.#name = name;
    this.#find = find;
  }

  place(path: string, build: readonly Placed[]): { positions: Float64Array; triangles?: Uint32Array } {
    const total = this.#sum(path, build);
    if (total.placements === 1 && build.length === 1 && build[0].transform === undefined) {
      const { positions, triangles } = this.#find(partOf(build[0], path), build[0].id);
      return { positions, ...(triangles.length > 0 && { triangles }) };
    }
    this.#positions = new Float64Array(3 * total.points);
    this.#triangles = new Uint32Array(3 * total.triangles);
    for (const placed of build) this.#put(path, placed, identity);
    return { positions: this.#positions, ...(total.triangles > 0 && { triangles: this.#triangles }) };
  }

  #sum(path: string, placed: readonly Placed[]): Count {
    let points = 0;
    let triangles = 0;
    let placements = 0;
    for (const p of placed) {
      const count = this.#count(partOf(p, path), p.id);
      points += count.points;
      triangles += count.triangles;
      placements += count.placements;
      if (points > MOST.points || triangles > MOST.triangles || placements > MOST.placements) {
        throw refusal(
          this.#name,
          'too-large',
          `its components place an object within objects so often that it would have more than ${contentsText(MOST.points, MOST.triangles)}. Export it flat.`,
        );
      }
    }
    return { points, triangles, placements };
  }

  #count(path: string, id: string): Count {
    const object = this.#find(path, id);
    const known = this.#counts.get(object);
    if (known !== undefined) return known;
    if (this.#open.has(object)) {
      throw refusal(this.#name, 'bad-model', `object ${excerpt(id)} has itself as a component. Export it again.`);
    }
    if (this.#open.size > 100) {
      throw refusal(this.#name, 'bad-model', 'its components are nested more than 100 deep. Export it flat.');
    }
    this.#open.add(object);
    const parts = this.#sum(path, object.components);
    this.#open.delete(object);
    const count = {
      points: parts.points + object.positions.length / 3,
      triangles: parts.triangles + object.triangles.length / 3,
      placements: parts.placements + 1,
    };
    this.#counts.set(object, count);
    return count;
  }

  #put(path: string, placed: Placed, outer: Transform): void {
    const part = partOf(placed, path);
    const object = this.#find(part, placed.id);
    const m = placed.transform === undefined ? outer : composed(placed.transform, outer);
    const first = this.#points;
    const { positions: p, triangles: t } = object;
    for (let i = 0, to = 3 * first; i < p.length; i += 3, to += 3) {
      const [x, y, z] = [p[i], p[i + 1], p[i + 2]];
      for (let k = 0; k < 3; k++) this.#positions[to + k] = x * m[k] + y * m[3 + k] + z * m[6 + k] + m[9 + k];
    }
    this.#points += p.length / 3;
    const [second, third] = determinant(m) < 0 ? [2, 1] : [1, 2];
    for (let i = 0; i < t.length; i += 3) {
      this.#triangles[this.#corners++] = first + t[i];
      this.#triangles[this.#corners++] = first + t[i + second];
      this.#triangles[this.#corners++] = first + t[i + third];
    }
    for (const component of object.components) this.#put(part, component, m);
  }
}

const partOf = (placed: Placed, path: string): string => (placed.path === undefined ? path : entryKey(placed.path));

const identity: Transform = [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0];

/** First `a`, then `b`, for points as rows. */
function composed(a: Transform, b: Transform): Transform {
  const c: number[] = [];
  for (let row = 0; row < 4; row++) {
    for (let k = 0; k < 3; k++) {
      const [x, y, z] = a.slice(3 * row, 3 * row + 3);
      c.push(x * b[k] + y * b[3 + k] + z * b[6 + k] + (row === 3 ? b[9 + k] : 0));
    }
  }
  return c;
}

const determinant = ([a, b, c, d, e, f, g, h, i]: Transform): number =>
  a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
