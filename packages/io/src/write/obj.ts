import type { Scan } from '@fettle/geom';
import { digits, single } from '../text/shortest-number.js';
import { checkScan } from './check-scan.js';
import { Chunks } from './chunks.js';
import { divisorOf, type FileUnits } from './file-units.js';

export interface ObjOptions extends FileUnits {
  /** Lines for the beginning of the file, such as where the scan comes from. */
  readonly comments?: readonly string[];
}

/** Lines a piece. */
const LINES = 1 << 14;

/**
 * A scan as OBJ, its unit in a comment. Coordinates are written with the fewest digits that read back as the same
 * double, normals with the nine that keep a single, colors (r g b behind the coordinates, 0 to 1) with four.
 * All points are written, whatever `select` says. Errors: `bad-units`, those of checkScan.
 */
export function writeObj(scan: Scan, options: ObjOptions = {}): Chunks {
  checkScan(scan);
  const divisor = divisorOf(scan, options);
  return new Chunks(() => pieces(scan, options, divisor));
}

/** 0 to 255 as fractions of four digits: the step between two is 0.0039. */
const fractions = Array.from({ length: 256 }, (_, c) => String(Number((c / 255).toFixed(4))));

function* pieces(
  { positions: p, triangles, normals, colors }: Scan,
  { comments = [], units = 'mm' }: ObjOptions,
  divisor: number,
) {
  const encoder = new TextEncoder();
  const points = p.length / 3;
  const lines: string[] = [`# units ${units}`];
  for (const comment of comments) lines.push(...comment.split(/[\r\n]+/).map((line) => `# ${line}`));

  function* full(limit: number) {
    if (lines.length === 0 || lines.length < limit) return;
    lines.push('');
    yield encoder.encode(lines.join('\n')) as Uint8Array<ArrayBuffer>;
    lines.length = 0;
  }

  for (let i = 0; i < 3 * points; i += 3) {
    const v = `v ${digits(p[i] / divisor)} ${digits(p[i + 1] / divisor)} ${digits(p[i + 2] / divisor)}`;
    lines.push(
      colors === undefined ? v : `${v} ${fractions[colors[i]]} ${fractions[colors[i + 1]]} ${fractions[colors[i + 2]]}`,
    );
    if (lines.length >= LINES) yield* full(LINES);
  }
  for (let i = 0; normals !== undefined && i < 3 * points; i += 3) {
    lines.push(`vn ${single(normals[i])} ${single(normals[i + 1])} ${single(normals[i + 2])}`);
    if (lines.length >= LINES) yield* full(LINES);
  }
  for (let i = 0; triangles !== undefined && i < triangles.length; i += 3) {
    const a = triangles[i] + 1;
    const b = triangles[i + 1] + 1;
    const c = triangles[i + 2] + 1;
    lines.push(normals === undefined ? `f ${a} ${b} ${c}` : `f ${a}//${a} ${b}//${b} ${c}//${c}`);
    if (lines.length >= LINES) yield* full(LINES);
  }
  yield* full(1);
}
