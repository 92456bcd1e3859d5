import { FettleError, type Scan } from '@fettle/geom';
import { countText } from '../text/number-text.js';
import { checkScan } from './check-scan.js';
import { Chunks } from './chunks.js';
import { divisorOf, type FileUnits } from './file-units.js';

export interface StlOptions extends FileUnits {
  /** Text for the 80 bytes of header; default says the unit. Must not begin with `solid`. */
  readonly header?: string;
}

const FACET = 50;
/** Facets a piece. */
const FACETS = 1 << 14;

/**
 * A mesh as binary STL, its unit in the header: single precision, which is all the format keeps (7 digits: 0.0001 mm at a meter), no colors, no
 * point normals, points shared by triangles written for each.
 * Errors: `no-triangles` for a cloud, `too-large` where a coordinate exceeds single precision, `bad-header`, `bad-units`, those of
 * checkScan.
 */
export function writeStl(scan: Scan, options: StlOptions = {}): Chunks {
  checkScan(scan);
  const { name = 'scan', positions, triangles } = scan;
  const { units = 'mm', header = `binary STL, units ${units}` } = options;
  const divisor = divisorOf(scan, options);
  if (triangles === undefined || triangles.length === 0) {
    throw new FettleError(
      'no-triangles',
      `${name}: not written: STL holds triangles, and this is a cloud. Write PLY or OBJ.`,
    );
  }
  if (triangles.length / 3 > 0xffffffff || positions.some((c) => !Number.isFinite(Math.fround(c / divisor)))) {
    throw new FettleError(
      'too-large',
      `${name}: not written: ${countText(triangles.length / 3)} triangles or coordinates beyond what STL holds. Write PLY.`,
    );
  }
  if (/^solid/i.test(header)) {
    throw new FettleError(
      'bad-header',
      `${name}: not written: a header beginning 'solid' makes readers take it for text.`,
    );
  }
  return new Chunks(() => pieces(positions, triangles, header, divisor));
}

function* pieces(
  p: Float64Array,
  triangles: Uint32Array,
  text: string,
  divisor: number,
): Generator<Uint8Array<ArrayBuffer>> {
  const header = new Uint8Array(84);
  new TextEncoder().encodeInto(text, header.subarray(0, 80));
  new DataView(header.buffer).setUint32(80, triangles.length / 3, true);
  yield header;

  for (let from = 0; from < triangles.length; from += 3 * FACETS) {
    const to = Math.min(from + 3 * FACETS, triangles.length);
    const bytes = new Uint8Array(((to - from) / 3) * FACET);
    const view = new DataView(bytes.buffer);
    let at = 0;
    for (let t = from; t < to; t += 3) {
      const a = 3 * triangles[t];
      const b = 3 * triangles[t + 1];
      const c = 3 * triangles[t + 2];
      const ux = p[b] - p[a];
      const uy = p[b + 1] - p[a + 1];
      const uz = p[b + 2] - p[a + 2];
      const vx = p[c] - p[a];
      const vy = p[c + 1] - p[a + 1];
      const vz = p[c + 2] - p[a + 2];
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      // A triangle without area has no normal: zero, as the format's readers expect.
      const length = Math.hypot(nx, ny, nz);
      const scale = length > 0 && Number.isFinite(length) ? 1 / length : 0;
      view.setFloat32(at, scale === 0 ? 0 : nx * scale, true);
      view.setFloat32(at + 4, scale === 0 ? 0 : ny * scale, true);
      view.setFloat32(at + 8, scale === 0 ? 0 : nz * scale, true);
      let to = at + 12;
      for (let k = t; k < t + 3; k++) {
        const v = 3 * triangles[k];
        view.setFloat32(to, p[v] / divisor, true);
        view.setFloat32(to + 4, p[v + 1] / divisor, true);
        view.setFloat32(to + 8, p[v + 2] / divisor, true);
        to += 12;
      }
      at += FACET;
    }
    yield bytes;
  }
}
