/**
 * What the contacts of an extreme fit must satisfy, and point sets built around a known one. Nothing here is taken from
 * the library under test.
 */
import type { Association, Contact, Feature, Random, Vec3 } from '@fettle/geom';
import { Matrix, pseudoInverse, solve } from 'ml-matrix';

export const pointOf = (positions: Float64Array, i: number): Vec3 => [
  positions[3 * i],
  positions[3 * i + 1],
  positions[3 * i + 2],
];
export const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const dotOf = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const crossOf = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
export const unit = (a: Vec3): Vec3 => a.map((c) => c / Math.hypot(...a)) as unknown as Vec3;

/** Distance of a point from the feature's middle: height over a plane, distance from a center or an axis. */
export function distanceTo(feature: Feature, p: Vec3): number {
  switch (feature.kind) {
    case 'plane':
      return dotOf(minus(p, feature.point), feature.normal);
    case 'line':
    case 'cylinder':
      return Math.hypot(...crossOf(minus(p, feature.point), feature.direction));
    case 'circle': {
      const away = minus(p, feature.center);
      const height = dotOf(away, feature.normal);
      return Math.hypot(...minus(away, feature.normal.map((c) => c * height) as unknown as Vec3));
    }
    case 'sphere':
      return Math.hypot(...minus(p, feature.center));
    default:
      throw new Error(`no distance to a ${feature.kind}`);
  }
}

/** Largest and smallest distance of all points. */
export function extremeDistances(feature: Feature, positions: Float64Array): { low: number; high: number } {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < positions.length / 3; i++) {
    const d = distanceTo(feature, pointOf(positions, i));
    low = Math.min(low, d);
    high = Math.max(high, d);
  }
  return { low, high };
}

/** How far the contacts are from standing at the extremes of all points, mm. */
export function contactError(found: Association<Feature>, positions: Float64Array): number {
  const { low, high } = extremeDistances(found.feature, positions);
  return Math.max(
    ...found.contacts.map(({ index, side }) =>
      Math.abs(distanceTo(found.feature, pointOf(positions, index)) - (side === 1 ? high : low)),
    ),
  );
}

/**
 * How far the contacts are from balancing: the weights, together 1 on each side present and none negative, with which
 * the derivatives of the contacts' distances cancel. Zero at an optimum (Karush-Kuhn-Tucker); so is `pull`, the most
 * negative weight.
 *
 * @param rows derivatives of each contact's distance by the moves of the feature
 */
export function imbalance(
  contacts: readonly Contact[],
  rows: readonly (readonly number[])[],
): { residue: number; pull: number } {
  const sides = [1, -1].filter((side) => contacts.some((c) => c.side === side));
  const equations = [
    ...rows[0].map((_, k) => contacts.map((c, i) => c.side * rows[i][k])),
    ...sides.map((side) => contacts.map((c) => (c.side === side ? 1 : 0))),
  ];
  const matrix = new Matrix(equations);
  const right = Matrix.columnVector([...rows[0].map(() => 0), ...sides.map(() => 1)]);
  const weights = pseudoInverse(matrix).mmul(right);
  const rest = Matrix.sub(matrix.mmul(weights), right).to1DArray();
  return { residue: Math.max(...rest.map(Math.abs)), pull: Math.max(0, ...weights.to1DArray().map((w) => -w)) };
}

/** Derivatives of a contact's distance by two shifts of an axis and two tilts about `at`, these in mm at `reach`. */
export function axisRow(p: Vec3, at: Vec3, direction: Vec3, reach: number): number[] {
  const u = unit(crossOf(direction, Math.abs(direction[0]) < 0.7 ? [1, 0, 0] : [0, 1, 0]));
  const v = crossOf(direction, u);
  const away = minus(p, at);
  const [x, y, z] = [dotOf(away, u), dotOf(away, v), dotOf(away, direction)];
  const d = Math.hypot(x, y);
  return [-x / d, -y / d, (-z * x) / d / reach, (-z * y) / d / reach];
}

/**
 * Whether one more row than unknowns balances with weights that are all positive, by a margin. Contacts with such
 * derivatives hold the feature: every small move makes the criterion worse to first order.
 */
function holds(rows: readonly (readonly number[])[]): boolean {
  const last = rows.length - 1;
  const matrix = new Matrix(rows.slice(0, last).map((row) => [...row])).transpose();
  const weights = [...solve(matrix, Matrix.columnVector(rows[last].map((c) => -c))).to1DArray(), 1];
  return Math.min(...weights) > 0.05 * Math.max(...weights);
}

export interface ConstructedCase {
  readonly positions: Float64Array;
  /** Indices of the points placed as contacts. */
  readonly contacts: readonly number[];
  readonly point: Vec3;
  readonly direction: Vec3;
  readonly radius: number;
  /** Width of the zone, mm. */
  readonly width: number;
}

export type Touched = 'both' | 'inside' | 'outside';

/**
 * Points about an axis or a center whose criterion's optimum is known: contacts are drawn until they hold the feature,
 * the others lie strictly within the zone, outside the pin or inside the ring.
 */
export function constructed(
  random: Random,
  shape: 'cylinder' | 'sphere',
  touched: Touched,
  count: number,
): ConstructedCase {
  const [radius, width, reach] = [20, 0.2, 30];
  const origin: Vec3 = [200 * random.next(), -100 * random.next(), 50];
  const direction = randomDirection(random);
  const u = unit(crossOf(direction, [0.3, 0.5, -0.8]));
  const v = crossOf(direction, u);
  const place = (n: Vec3, far: number, along: number): number[] =>
    [0, 1, 2].map((k) => origin[k] + far * (n[0] * u[k] + n[1] * v[k] + n[2] * direction[k]) + along * direction[k]);
  const draw = () => {
    const angle = 2 * Math.PI * random.next();
    const n: Vec3 = shape === 'sphere' ? randomDirection(random) : [Math.cos(angle), Math.sin(angle), 0];
    const along = shape === 'sphere' ? 0 : reach * (2 * random.next() - 1);
    const row = shape === 'sphere' ? [...n] : [n[0], n[1], (along / reach) * n[0], (along / reach) * n[1]];
    return { n, along, row };
  };
  const needed = (shape === 'sphere' ? 4 : 5) + (touched === 'both' ? 1 : 0);
  const sideOf = (i: number): number => (touched === 'both' ? (i % 2 === 0 ? 1 : -1) : touched === 'outside' ? 1 : -1);
  let contacts = Array.from({ length: needed }, draw);
  const rowsOf = () => contacts.map(({ row }, i) => (touched === 'both' ? [...row, 1] : row).map((c) => sideOf(i) * c));
  while (!holds(rowsOf())) contacts = Array.from({ length: needed }, draw);
  const coordinates = contacts.flatMap(({ n, along }, i) =>
    place(n, touched === 'both' ? radius + (sideOf(i) * width) / 2 : radius, along),
  );
  while (coordinates.length < 3 * count) {
    const { n, along } = draw();
    const t = random.next();
    const far = {
      both: radius + 0.45 * width * (2 * t - 1),
      inside: radius + 0.001 + width * t,
      outside: radius - 0.001 - width * t,
    };
    coordinates.push(...place(n, far[touched], along));
  }
  return {
    positions: Float64Array.from(coordinates),
    contacts: contacts.map((_, i) => i),
    point: origin,
    direction,
    radius,
    width,
  };
}

/** Even over all directions. */
export function randomDirection(random: Random): Vec3 {
  return unit([random.normal(), random.normal(), random.normal()]);
}
