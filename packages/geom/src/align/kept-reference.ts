import { FettleError } from '../error.js';
import { bounds } from '../scan/bounds.js';
import { cloudNormals } from '../scan/cloud-normals.js';
import { createScan } from '../scan/create.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { pointSpacing } from '../scan/spacing.js';
import { fromBase64, toBase64 } from './base64.js';
import { patchesOf } from './patches.js';
import { extentOf } from './size.js';

/**
 * What a body looked like, small enough to stand in a plan: the middles of small pieces of its surface with their normals. In the
 * plan and not beside it, so that the two cannot be parted or mixed up; some 8 bytes a piece, as base64.
 */
export interface KeptReference {
  /** Of the scan it was made of. */
  readonly name: string;
  readonly pieces: number;
  /** Least x, y, z, mm, and the step that coordinates are counted in, mm. */
  readonly from: readonly [number, number, number];
  readonly step: number;
  /** Base64 of x, y, z (16 bits each, low byte first, in steps) and of the normal on an octahedron (2 × 8 bits), piece after piece. */
  readonly surface: string;
}

/** Under 0.5 MB. */
const MOST_PIECES = 40_000;
const BYTES = 8;

/** Keeps what a scan shows for scans to come: see {@link KeptReference}. Each piece is the mean of its points, so noise averages out. */
export function keepReference(scan: Scan): KeptReference {
  let side = Math.max(extentOf(scan) / 300, 2 * pointSpacing(scan));
  let patches = patchesOf(scan, side);
  while (patches.size > MOST_PIECES) {
    side *= Math.max(1.05, Math.sqrt(patches.size / MOST_PIECES));
    patches = patchesOf(scan, side);
  }
  if (patches.size === 0)
    throw new FettleError('reference-empty', `${scanName(scan)}: no surface to keep as a reference. Scan more of it.`);
  // Those of a cloud without normals face either way: alike at least from piece to piece.
  const normal = patches.faces
    ? patches.normal
    : cloudNormals({ positions: patches.middle, units: 'mm', name: scanName(scan) }, { neighbors: 8 });
  const { min, max } = bounds({ positions: patches.middle });
  const step = Math.max(max[0] - min[0], max[1] - min[1], max[2] - min[2], 1e-6) / 65_535;
  const bytes = new Uint8Array(BYTES * patches.size);
  for (let i = 0; i < patches.size; i++) {
    for (let k = 0; k < 3; k++) {
      const n = Math.round((patches.middle[3 * i + k] - min[k]) / step);
      bytes[BYTES * i + 2 * k] = n & 255;
      bytes[BYTES * i + 2 * k + 1] = n >> 8;
    }
    const [u, v] = onOctahedron(normal[3 * i], normal[3 * i + 1], normal[3 * i + 2]);
    bytes[BYTES * i + 6] = Math.round((u + 1) * 127.5);
    bytes[BYTES * i + 7] = Math.round((v + 1) * 127.5);
  }
  return { name: scanName(scan), pieces: patches.size, from: min, step, surface: toBase64(bytes) };
}

const known = new WeakMap<KeptReference, Scan>();

/**
 * The kept reference as a cloud with normals, in the axes of the scan it was made of.
 *
 * @throws FettleError `reference-damaged` where its surface is not as long as it says
 */
export function scanOfReference(kept: KeptReference): Scan {
  const before = known.get(kept);
  if (before) return before;
  const { name, pieces, from, step, surface } = kept;
  const bytes = fromBase64(surface);
  if (bytes?.length !== BYTES * pieces)
    throw new FettleError(
      'reference-damaged',
      `The reference of the plan holds ${bytes?.length ?? 'no'} bytes of surface, ${pieces} pieces ask for ${BYTES * pieces}. Keep it anew ` +
        'from the scan the plan was made on.',
    );
  const positions = new Float64Array(3 * pieces);
  const normals = new Float32Array(3 * pieces);
  for (let i = 0; i < pieces; i++) {
    const b = BYTES * i;
    for (let k = 0; k < 3; k++) positions[3 * i + k] = from[k] + step * (bytes[b + 2 * k] + 256 * bytes[b + 2 * k + 1]);
    normals.set(offOctahedron(bytes[b + 6] / 127.5 - 1, bytes[b + 7] / 127.5 - 1), 3 * i);
  }
  const scan = createScan({ name, positions, normals });
  known.set(kept, scan);
  return scan;
}

const signOf = (x: number): number => (x < 0 ? -1 : 1);

/** Unit vectors as places in a square (Q. Meyer et al., "On floating-point normal vectors", Comput. Graph. Forum 29 (2010)). */
function onOctahedron(x: number, y: number, z: number): readonly [number, number] {
  const sum = Math.abs(x) + Math.abs(y) + Math.abs(z) || 1;
  const [u, v] = [x / sum, y / sum];
  return z >= 0 ? [u, v] : [(1 - Math.abs(v)) * signOf(u), (1 - Math.abs(u)) * signOf(v)];
}

function offOctahedron(u: number, v: number): readonly [number, number, number] {
  const z = 1 - Math.abs(u) - Math.abs(v);
  const x = z >= 0 ? u : (1 - Math.abs(v)) * signOf(u);
  const y = z >= 0 ? v : (1 - Math.abs(u)) * signOf(v);
  const long = Math.hypot(x, y, z);
  return [x / long, y / long, z / long];
}
