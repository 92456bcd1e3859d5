import { scaledCholesky } from '../../math/scaled-solve.js';
import { perpendiculars, type Vec3 } from '../../math/vec3.js';
import { LocalPlane } from '../../scan/local-plane.js';

/** Places about the middle one, in radii of a patch: the patches hardly overlap. */
const ring = [
  [1.4, 6],
  [2.6, 12],
] as const;
/** How far patches reach from the middle, in their radii. */
export const reach = 3.6;
/** Patches with fewer points give no normal; a linear field takes three of them, and six more judge it. */
const fewestPoints = 6;
const fewestPatches = 9;
/** Share of the patches, those off the most, that may lie over an edge or on something else. */
const astray = 0.25;
/** What the standard deviation of the others is to be multiplied by: of a normal vector in two axes, the farthest quarter left out. */
const restored = 1.29;

/** Coordinates rounded along an axis, 0 to 2, to a step in mm. */
export interface Rounding {
  readonly axis: number;
  readonly step: number;
}

/**
 * How far normals of planes through patches of a radius may be tilted, radians: one standard deviation about one axis.
 *
 * Normals of 19 patches side by side are laid out over the surface; a field linear in their places takes out the surface's own curvature,
 * and what they scatter about it is noise, whatever length it is alike over below the patches' whole reach. A quarter of the patches
 * may lie over an edge. To this comes what rounding leaves where all patches see the same: a single step q through a patch of radius r
 * gives a slope of 0.3 q/r on the mean over where it may lie (0.85 q/r in the middle); the K steps of a steeper surface balance, by K^1.5.
 *
 * Tried: the scatter of the heights of one patch about a quadric. Noise alike over more than a third of the patch is curvature to it: of
 * a stereo camera's table it called normals good to 1° that were 10° off.
 *
 * @param points those within `reach` times the radius of the place
 * @returns undefined where there are too few points to tell
 */
export function normalTilt(
  positions: Float64Array,
  points: ArrayLike<number>,
  place: Vec3,
  radius: number,
  rounding: readonly Rounding[],
): number | undefined {
  const whole = new LocalPlane();
  if (!planeOf(whole, positions, points, place, Infinity)) return undefined;
  const w: Vec3 = [whole.nx, whole.ny, whole.nz];
  const normals = patchNormals(positions, points, place, radius, w);
  if (normals.length < fewestPatches) return undefined;
  const own = new LocalPlane();
  const normal: Vec3 = planeOf(own, positions, points, place, radius) ? [own.nx, own.ny, own.nz] : w;
  return Math.max(scatterOf(normals), ...rounding.map((one) => roundingTilt(one, normal, radius)));
}

function planeOf(
  plane: LocalPlane,
  positions: Float64Array,
  points: ArrayLike<number>,
  [x, y, z]: Vec3,
  radius: number,
): boolean {
  plane.start(x, y, z);
  for (let i = 0; i < points.length; i++) {
    const p = 3 * points[i];
    const square = (positions[p] - x) ** 2 + (positions[p + 1] - y) ** 2 + (positions[p + 2] - z) ** 2;
    if (square <= radius * radius) plane.add(positions[p], positions[p + 1], positions[p + 2]);
  }
  return plane.count >= fewestPoints && plane.solve();
}

/** Place x, y over the surface, in radii, and slope along x and y, of each patch. */
function patchNormals(
  positions: Float64Array,
  points: ArrayLike<number>,
  place: Vec3,
  radius: number,
  w: Vec3,
): number[][] {
  const [u, v] = perpendiculars(w);
  const plane = new LocalPlane();
  const found: number[][] = [];
  const take = (x: number, y: number): void => {
    const middle = place.map((c, k) => c + radius * (x * u[k] + y * v[k])) as unknown as Vec3;
    // Room above and below for a surface that bends away.
    if (!planeOf(plane, positions, points, middle, 1.15 * radius)) return;
    const along = plane.nx * w[0] + plane.ny * w[1] + plane.nz * w[2];
    if (Math.abs(along) < 0.2) return;
    const slope = (t: Vec3): number => (plane.nx * t[0] + plane.ny * t[1] + plane.nz * t[2]) / along;
    found.push([x, y, slope(u), slope(v)]);
  };
  take(0, 0);
  for (const [far, count] of ring)
    for (let i = 0; i < count; i++)
      take(far * Math.cos((2 * Math.PI * i) / count), far * Math.sin((2 * Math.PI * i) / count));
  return found;
}

/** Standard deviation of slopes about a linear field, that of the farthest left out twice. */
function scatterOf(normals: readonly number[][]): number {
  let kept = normals;
  let scatter = 0;
  for (let pass = 0; pass < 3; pass++) {
    const [a, b] = [linear(kept, 2), linear(kept, 3)];
    const off = normals
      .map((one) => ({ one, square: (one[2] - a(one[0], one[1])) ** 2 + (one[3] - b(one[0], one[1])) ** 2 }))
      .sort((p, q) => p.square - q.square)
      .slice(0, Math.ceil((1 - astray) * normals.length));
    kept = off.map(({ one }) => one);
    scatter = restored * Math.sqrt(off.reduce((sum, { square }) => sum + square, 0) / (2 * (kept.length - 3)));
  }
  return scatter;
}

/** The value `k` of the patches as a function linear in their places. */
function linear(patches: readonly number[][], k: number): (x: number, y: number) => number {
  const normal = new Float64Array(9);
  const right = new Float64Array(3);
  for (const patch of patches) {
    const terms = [1, patch[0], patch[1]];
    for (let i = 0; i < 3; i++) {
      right[i] += terms[i] * patch[k];
      for (let j = 0; j < 3; j++) normal[3 * i + j] += terms[i] * terms[j];
    }
  }
  const [c, x, y] = scaledCholesky(normal, 3)?.solve(right) ?? [0, 0, 0];
  return (px, py) => c + x * px + y * py;
}

function roundingTilt({ axis, step }: Rounding, normal: Vec3, radius: number): number {
  const along = Math.abs(normal[axis]);
  const rise = 2 * radius * Math.sqrt(Math.max(0, 1 - along * along));
  const steps = Math.max(1, rise / step);
  return (0.3 * step * along) / (radius * steps * Math.sqrt(steps));
}
