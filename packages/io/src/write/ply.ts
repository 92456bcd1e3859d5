import type { Scan } from '@fettle/geom';
import { checkScan } from './check-scan.js';
import { Chunks } from './chunks.js';
import { divisorOf, type FileUnits } from './file-units.js';

export interface PlyOptions extends FileUnits {
  /** Lines for the header, such as where the scan comes from. */
  readonly comments?: readonly string[];
}

/** Rows a piece. */
const ROWS = 1 << 15;

/**
 * A scan as binary little-endian PLY, its unit in a comment: doubles for coordinates, so that a file in mm reads back equal bit
 * for bit; normals, colors and triangles where the scan has them. All points are written, whatever `select` says.
 * Errors: `bad-units`, those of checkScan.
 */
export function writePly(scan: Scan, options: PlyOptions = {}): Chunks {
  checkScan(scan);
  const divisor = divisorOf(scan, options);
  return new Chunks(() => pieces(scan, options, divisor));
}

function* pieces(scan: Scan, options: PlyOptions, divisor: number): Generator<Uint8Array<ArrayBuffer>> {
  const { positions, triangles, normals, colors } = scan;
  const points = positions.length / 3;
  yield new TextEncoder().encode(header(scan, options));

  const row = 24 + (normals ? 12 : 0) + (colors ? 3 : 0);
  for (let from = 0; from < points; from += ROWS) {
    const to = Math.min(from + ROWS, points);
    const bytes = new Uint8Array((to - from) * row);
    const view = new DataView(bytes.buffer);
    let at = 0;
    for (let i = 3 * from; i < 3 * to; i += 3) {
      view.setFloat64(at, positions[i] / divisor, true);
      view.setFloat64(at + 8, positions[i + 1] / divisor, true);
      view.setFloat64(at + 16, positions[i + 2] / divisor, true);
      at += 24;
      if (normals !== undefined) {
        view.setFloat32(at, normals[i], true);
        view.setFloat32(at + 4, normals[i + 1], true);
        view.setFloat32(at + 8, normals[i + 2], true);
        at += 12;
      }
      if (colors !== undefined) {
        bytes[at] = colors[i];
        bytes[at + 1] = colors[i + 1];
        bytes[at + 2] = colors[i + 2];
        at += 3;
      }
    }
    yield bytes;
  }

  for (let from = 0; triangles !== undefined && from < triangles.length; from += 3 * ROWS) {
    const to = Math.min(from + 3 * ROWS, triangles.length);
    const bytes = new Uint8Array(((to - from) / 3) * 13);
    const view = new DataView(bytes.buffer);
    let at = 0;
    for (let i = from; i < to; i += 3) {
      bytes[at] = 3;
      view.setUint32(at + 1, triangles[i], true);
      view.setUint32(at + 5, triangles[i + 1], true);
      view.setUint32(at + 9, triangles[i + 2], true);
      at += 13;
    }
    yield bytes;
  }
}

function header({ positions, triangles, normals, colors }: Scan, { comments = [], units = 'mm' }: PlyOptions): string {
  const points = positions.length / 3;
  // Programs that read only signed indices are many, scans of 2³¹ points few.
  const index = points > 0x7fffffff ? 'uint' : 'int';
  return [
    'ply',
    'format binary_little_endian 1.0',
    `comment units ${units}`,
    ...comments.flatMap((comment) => comment.split(/[\r\n]+/)).map((line) => `comment ${line}`),
    `element vertex ${points}`,
    ...['x', 'y', 'z'].map((name) => `property double ${name}`),
    ...(normals ? ['nx', 'ny', 'nz'].map((name) => `property float ${name}`) : []),
    ...(colors ? ['red', 'green', 'blue'].map((name) => `property uchar ${name}`) : []),
    ...(triangles ? [`element face ${triangles.length / 3}`, `property list uchar ${index} vertex_indices`] : []),
    'end_header',
    '',
  ].join('\n');
}
