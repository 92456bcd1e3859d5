import { type Bounds, createScan, type Random, type Scan, seededRandom, transformScan } from '@fettle/geom';
import { skinAt } from '../../examples/pump/casting.js';
import { correlatedField } from '../../examples/pump/correlated-field.js';
import { pointToPump } from '../../examples/pump/pose.js';
import { scanPump, skinLength, usualNoise } from '../../examples/pump/scan-pump.js';
import { anyPose } from '../geom/align-bodies.js';

/** The pump as it is, its rough skin included: what all scans of one pump have in common. */
export interface Body {
  readonly scan: Scan;
}

/** Noise is drawn in the pump's axes within these. */
const around: Bounds = { min: [-110, -165, -132], max: [310, 182, 90] };

export function pumpBody(triangles: number): Body {
  const { scan, truth } = scanPump({ triangles, noise: 'none' });
  const roughness = correlatedField(seededRandom(17), around, skinLength);
  return { scan: alongNormals(scan, truth.frame, (x, y, z) => skinAt(x, y, z) * roughness(x, y, z)) };
}

type Pose = Parameters<typeof pointToPump>[0];
const poseOfPump = scanPumpPose();

function scanPumpPose(): Pose {
  return scanPump({ triangles: 2_000, noise: 'none' }).truth.frame;
}

function alongNormals(scan: Scan, pose: Pose, off: (x: number, y: number, z: number) => number): Scan {
  const positions = scan.positions.slice();
  const normals = scan.normals!;
  for (let i = 0; i < positions.length; i += 3) {
    const [x, y, z] = pointToPump(pose, [positions[i]!, positions[i + 1]!, positions[i + 2]!]);
    const by = off(x, y, z);
    for (let k = 0; k < 3; k++) positions[i + k] = positions[i + k]! + by * normals[i + k]!;
  }
  return { ...scan, positions };
}

export interface FreshOptions {
  /** Share of the points that are kept, cut off by a plane. */
  readonly share: number;
  /** Holes cut by balls, a twentieth of the body across. */
  readonly holes?: number;
  /** Specks added, as a share of the points. */
  readonly strays?: number;
  /** In any pose. */
  readonly moved?: boolean;
}

/** One more scan of a body: its own noise, cut, with strays, in its own axes. `pose` takes the body's axes to those of the scan. */
export function freshScan(
  { scan }: Body,
  random: Random,
  { share, holes = 0, strays = 0, moved = false }: FreshOptions,
): { readonly scan: Scan; readonly pose: Float64Array } {
  const shared = correlatedField(random, around, usualNoise.length);
  const noisy = alongNormals(
    scan,
    poseOfPump,
    (x, y, z) => usualNoise.correlated * shared(x, y, z) + usualNoise.white * random.normal(),
  );
  const cut = withStrays(kept(noisy, random, share, holes), random, strays);
  // biome-ignore format: the identity
  const pose = moved ? anyPose(random) : Float64Array.of(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1);
  return { scan: { ...transformScan(cut, pose), name: 'next.ply' }, pose };
}

function kept({ positions, triangles }: Scan, random: Random, share: number, holes: number): Scan {
  const count = positions.length / 3;
  const [a, b, c] = [random.normal(), random.normal(), random.normal()];
  const heights = new Float64Array(count);
  for (let i = 0; i < count; i++)
    heights[i] = a * positions[3 * i]! + b * positions[3 * i + 1]! + c * positions[3 * i + 2]!;
  const limit = heights.slice().sort()[Math.min(count - 1, Math.floor(share * count))]!;
  const balls = Array.from({ length: holes }, () => 3 * random.below(count));
  const isKept = (i: number): boolean =>
    heights[i]! <= limit &&
    balls.every(
      (p) =>
        Math.hypot(
          positions[3 * i]! - positions[p]!,
          positions[3 * i + 1]! - positions[p + 1]!,
          positions[3 * i + 2]! - positions[p + 2]!,
        ) > 25,
    );
  const into = new Int32Array(count).fill(-1);
  const left: number[] = [];
  for (let i = 0; i < count; i++) {
    if (!isKept(i)) continue;
    into[i] = left.length / 3;
    left.push(positions[3 * i]!, positions[3 * i + 1]!, positions[3 * i + 2]!);
  }
  const corners: number[] = [];
  for (let t = 0; t < triangles!.length; t += 3) {
    const [p, q, r] = [into[triangles![t]!]!, into[triangles![t + 1]!]!, into[triangles![t + 2]!]!];
    if (p >= 0 && q >= 0 && r >= 0) corners.push(p, q, r);
  }
  return createScan({ positions: left, triangles: corners, name: 'next.ply' });
}

/** Small triangles anywhere in the box about the scan. */
function withStrays({ positions, triangles, ...rest }: Scan, random: Random, share: number): Scan {
  const count = positions.length / 3;
  const specks = Math.floor((share * count) / 3);
  const places = new Float64Array(positions.length + 9 * specks);
  const corners = new Uint32Array(triangles!.length + 3 * specks);
  places.set(positions);
  corners.set(triangles!);
  const range = [0, 1, 2].map((k) => {
    let [low, high] = [Infinity, -Infinity];
    for (let i = k; i < positions.length; i += 3) {
      low = Math.min(low, positions[i]!);
      high = Math.max(high, positions[i]!);
    }
    return [low, high] as const;
  });
  for (let s = 0; s < specks; s++) {
    const at = range.map(([low, high]) => low + random.next() * (high - low));
    for (let c = 0; c < 9; c++) places[positions.length + 9 * s + c] = at[c % 3]! + random.normal();
    for (let c = 0; c < 3; c++) corners[triangles!.length + 3 * s + c] = count + 3 * s + c;
  }
  return { ...rest, positions: places, triangles: corners };
}
