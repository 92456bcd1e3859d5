import { FettleError } from '../error.js';
import { centerOf, type WithCenter } from '../feature/roles.js';
import { fitPlane } from '../fit/shapes/plane.js';
import { add, cross, dot, normalize, scale, subtract, type Vec3 } from '../math/vec3.js';

/** Hole centers laid into the plane they lie in. */
export interface PatternPlane {
  /** In the middle of the centers. */
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
  readonly normal: Vec3;
  /** xy of each center, in the order given, mm. */
  readonly flat: readonly (readonly [x: number, y: number])[];
  /** Height of each center above the plane, mm. */
  readonly heights: readonly number[];
  toScan(x: number, y: number): Vec3;
}

/** Closer than this, mm, two holes are one. */
const oneHole = 1e-3;

/**
 * The plane through the centers of holes. Its normal is turned to agree with the first hole's own, where it has one; x runs
 * from the first hole to the one farthest from it.
 *
 * @throws FettleError `holes-coincide` when two centers lie within 0.001 mm
 */
export function patternPlane(holes: readonly WithCenter[]): PatternPlane {
  const centers = holes.map((hole) => centerOf(hole).position);
  const origin = scale(centers.reduce(add), 1 / centers.length);
  const away = (from: Vec3) => (c: Vec3) => Math.hypot(...subtract(c, from));
  for (const [i, c] of centers.entries())
    for (let j = 0; j < i; j++)
      if (away(c)(centers[j]) < oneHole)
        throw new FettleError(
          'holes-coincide',
          `Holes ${j + 1} and ${i + 1} of the pattern lie in one place. Name each hole once.`,
        );
  const far = centers.reduce((best, c) => (away(centers[0])(c) > away(centers[0])(best) ? c : best));
  const along = normalize(subtract(far, centers[0]));
  const normal = normalOf(holes, centers, along);
  const x = normalize(subtract(along, scale(normal, dot(along, normal))));
  const y = cross(normal, x);
  const seen = centers.map((c) => subtract(c, origin));
  return {
    origin,
    x,
    y,
    normal,
    flat: seen.map((s) => [dot(s, x), dot(s, y)] as const),
    heights: seen.map((s) => dot(s, normal)),
    toScan: (a, b) => add(origin, add(scale(x, a), scale(y, b))),
  };
}

/** Of the best plane through the centers; of holes in one row, the holes' own normal square to the row. */
function normalOf(holes: readonly WithCenter[], centers: readonly Vec3[], along: Vec3): Vec3 {
  const own = holes.map((hole) => ('normal' in hole ? hole.normal : undefined)).find((n) => n !== undefined);
  const spread = Math.max(
    ...centers.map((c) => {
      const s = subtract(c, centers[0]);
      return Math.hypot(...subtract(s, scale(along, dot(s, along))));
    }),
  );
  const extent = Math.max(...centers.map((c) => Math.hypot(...subtract(c, centers[0]))));
  if (centers.length >= 3 && spread > 0.02 * extent) {
    const { normal } = fitPlane({ positions: Float64Array.from(centers.flat()) }).feature;
    return own && dot(own, normal) < 0 ? scale(normal, -1) : normal;
  }
  const across = own ?? leastAlong(along);
  return normalize(subtract(across, scale(along, dot(across, along))));
}

/** The axis of space a direction runs least along. */
function leastAlong(d: Vec3): Vec3 {
  const i = [0, 1, 2].reduce((best, k) => (Math.abs(d[k]) < Math.abs(d[best]) ? k : best));
  return [i === 0 ? 1 : 0, i === 1 ? 1 : 0, i === 2 ? 1 : 0];
}
