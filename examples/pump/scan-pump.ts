import { type Bounds, type Scan, seededRandom, type Vec3, vertexNormals } from '@fettle/geom';
import { casting, castingDistance, skinAt } from './casting.js';
import { correlatedField } from './correlated-field.js';
import { type Pose, pointToPump, pointToScan, poseFrom, turnToPump, turnToScan } from './pose.js';
import { sightOf } from './sight.js';
import { bench, specks } from './stray-pieces.js';
import { joinSurfaces, keepVertices, type Surface } from './surface.js';
import { type SignedDistance, surfaceNets } from './surface-nets.js';
import { type Truth, truthAt } from './truth.js';

/** How a scanner errs, along the surface's normal. */
export interface ScannerNoise {
  /** Standard deviation of the part neighbors share, mm. */
  readonly correlated: number;
  /** How far neighbors share it, mm: correlation exp(−r² / 2ℓ²) at distance r. */
  readonly length: number;
  /** Standard deviation of the part each point has to itself, mm. */
  readonly white: number;
}

export interface PumpScanOptions {
  /** About how many triangles: within a tenth. Default 1,000,000. */
  readonly triangles?: number;
  /** Default 1. The same seed gives the same scan. */
  readonly seed?: number;
  /** Default {@link usualNoise}; 'none': neither noise nor the casting's rough skin. */
  readonly noise?: ScannerNoise | 'none';
  readonly onProgress?: (what: string) => void;
}

export const usualNoise: ScannerNoise = { correlated: 0.03, length: 4, white: 0.02 };

/** How far neighbors share the casting's rough skin, mm. */
export const skinLength = 2.5;

/** Where the scanner's axes happened to lie when the scan began. */
const pose: Pose = poseFrom([-131, 24, 38], [214.6, -87.3, 655.2]);

/** All there is to see, in the pump's axes: its body, its lever, a piece of bench. */
const surroundings: Bounds = { min: [-100, -155, -122], max: [300, 172, 80] };

/** Triangles times spacing squared, mm²: measured on this casting. */
const trianglesTimesSpacing = 440_000;

/**
 * A scan of the pump as a hand-held scanner gives it: a mesh of what it saw, in its own axes, with holes where it saw
 * nothing or too little light came back, a piece of the bench, and specks that float. With what is true of the pump.
 */
export function scanPump(options: PumpScanOptions = {}): { readonly scan: Scan; readonly truth: Truth } {
  const { triangles = 1_000_000, seed = 1, noise = usualNoise, onProgress } = options;
  const random = seededRandom(seed);
  const spacing = Math.sqrt(trianglesTimesSpacing / triangles);

  onProgress?.('meshing the casting');
  const whole = surfaceNets(seenFromScan(castingDistance), boundsInScan(), spacing);
  onProgress?.('leaving out what the scanner does not see');
  const seen = keepVertices(whole, visible(whole, correlatedField(random, surroundings, 5)));
  onProgress?.('adding bench, specks and noise');
  const all = joinSurfaces([
    seen,
    setInScan(bench(random, spacing)),
    setInScan(specks(random, spacing, surroundings, 60)),
  ]);
  if (noise !== 'none') addNoise(all, noise);

  // Scanners write the mean of the normals about a point beside it.
  const bare = { positions: all.positions, triangles: all.triangles, units: 'mm', name: 'pump-scan.ply' } as const;
  const scan: Scan = { ...bare, normals: vertexNormals(bare) };
  return { scan, truth: truthAt(pose) };

  /** Moves each point along its normal: the rough skin of the casting, and the scanner's noise. */
  function addNoise({ positions, normals }: Surface, { correlated, length, white }: ScannerNoise): void {
    const roughness = correlatedField(random, surroundings, skinLength);
    const shared = correlatedField(random, surroundings, length);
    for (let i = 0; i < positions.length; i += 3) {
      const [x, y, z] = pointToPump(pose, [positions[i]!, positions[i + 1]!, positions[i + 2]!]);
      const off = skinAt(x, y, z) * roughness(x, y, z) + correlated * shared(x, y, z) + white * random.normal();
      for (let c = i; c < i + 3; c++) positions[c] = positions[c]! + off * normals[c]!;
    }
  }
}

/** Which vertices the scanner gets: those it sees, none at the bench or from below, down a dark hole or where metal glares. */
function visible({ positions, normals }: Surface, glare: (x: number, y: number, z: number) => number): Uint8Array {
  const kept = new Uint8Array(positions.length / 3);
  const sees = sightOf(castingDistance);
  for (let v = 0; v < kept.length; v++) {
    const i = 3 * v;
    const [x, y, z] = pointToPump(pose, [positions[i]!, positions[i + 1]!, positions[i + 2]!]);
    const [nx, ny, nz] = turnToPump(pose, [normals[i]!, normals[i + 1]!, normals[i + 2]!]);
    if (z < casting.bottom + 3 || nz < -0.6 || isDark(x, y, z) || glare(x, y, z) > 2.6) continue;
    if (sees(x, y, z, nx, ny, nz)) kept[v] = 1;
  }
  return kept;
}

/** Black oil stands in the bolt holes: nothing comes back from deeper than 2 mm under the rim. */
const isDark = (x: number, y: number, z: number): boolean =>
  z < -2 && casting.holes.some(({ center, radius }) => Math.hypot(x - center[0], y - center[1]) < radius + 0.5);

/** The distance function of the pump's axes, asked in scan axes. */
function seenFromScan(distance: SignedDistance): SignedDistance {
  const [xx, xy, xz] = pose.x;
  const [yx, yy, yz] = pose.y;
  const [zx, zy, zz] = pose.z;
  const [ox, oy, oz] = pose.origin;
  return (x, y, z) => {
    const dx = x - ox;
    const dy = y - oy;
    const dz = z - oz;
    return distance(dx * xx + dy * xy + dz * xz, dx * yx + dy * yy + dz * yz, dx * zx + dy * zy + dz * zz);
  };
}

/** Bounds in scan axes of what is in `surroundings`. */
function boundsInScan(): Bounds {
  const corners: Vec3[] = Array.from({ length: 8 }, (_, c) =>
    pointToScan(pose, [
      (c & 1 ? surroundings.max : surroundings.min)[0],
      (c & 2 ? surroundings.max : surroundings.min)[1],
      (c & 4 ? surroundings.max : surroundings.min)[2],
    ]),
  );
  const extreme = (of: (...values: number[]) => number): Vec3 => [
    of(...corners.map((p) => p[0])),
    of(...corners.map((p) => p[1])),
    of(...corners.map((p) => p[2])),
  ];
  return { min: extreme(Math.min), max: extreme(Math.max) };
}

function setInScan({ positions, normals, triangles }: Surface): Surface {
  const each = (from: Float64Array, move: (p: Vec3) => Vec3): Float64Array => {
    const to = new Float64Array(from.length);
    for (let i = 0; i < from.length; i += 3) to.set(move([from[i]!, from[i + 1]!, from[i + 2]!]), i);
    return to;
  };
  return {
    positions: each(positions, (p) => pointToScan(pose, p)),
    normals: each(normals, (d) => turnToScan(pose, d)),
    triangles,
  };
}
