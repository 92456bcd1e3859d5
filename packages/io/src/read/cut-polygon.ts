import earcut from 'earcut';

/**
 * Cuts a polygon, concave or with holes that bridges join to its border, into triangles: seen along its area vector (Newell), by
 * the clipping of ears in z-order of earcut. That leaves out corners on a straight line; they are put in again, or neighbors that have
 * them would part from the polygon along a crack.
 *
 * Tried: clipping of ears of our own, which takes no corner that another one lies on, as bridges have them.
 *
 * @param p positions, xyz xyz …
 * @param names of the corners in order
 * @param area twice the area vector
 * @returns triangles as places in `names`, turned as the polygon is, two fewer than corners; undefined where they would not
 * cover it once, as where it crosses itself
 */
export function cutPolygon(p: Float64Array, names: Uint32Array, area: readonly number[]): number[] | undefined {
  const flat = seenAlong(p, names, area);
  if (flat === undefined) return undefined;
  const triangles = withAllCorners(earcut(flat), names.length);
  return triangles && turnedAlike(flat, triangles);
}

/** The corners in two coordinates, from the first one on, in the plane the area vector is normal to; counterclockwise. */
function seenAlong(p: Float64Array, names: Uint32Array, area: readonly number[]): number[] | undefined {
  const length = Math.hypot(...area);
  if (!(length > 0 && length < Infinity)) return undefined;
  const n = area.map((c) => c / length);
  // Across the axis that is least along the normal: exact for faces along the axes.
  const least = n.map(Math.abs).indexOf(Math.min(...n.map(Math.abs)));
  const e = [0, 1, 2].map((k) => (k === least ? 1 : 0));
  const u = cross(e, n);
  const across = Math.hypot(...u);
  for (let k = 0; k < 3; k++) u[k] /= across;
  const v = cross(n, u);
  const flat: number[] = [];
  const from = 3 * names[0];
  for (const name of names) {
    const [x, y, z] = [0, 1, 2].map((k) => p[3 * name + k] - p[from + k]);
    flat.push(u[0] * x + u[1] * y + u[2] * z, v[0] * x + v[1] * y + v[2] * z);
  }
  return flat;
}

const cross = (a: readonly number[], b: readonly number[]): number[] => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

/** The triangles with the corners they leave out put in where they lie, between their neighbors; undefined where those have no edge. */
function withAllCorners(triangles: number[], corners: number): number[] | undefined {
  const has = new Uint8Array(corners);
  for (const c of triangles) has[c] = 1;
  const first = has.indexOf(1);
  if (first < 0) return undefined;
  const edgeKey = (a: number, b: number) => (a < b ? a * corners + b : b * corners + a);
  /** For each edge one of its triangles: a border has one alone. */
  const triangleAt = new Map<number, number>();
  const note = (t: number) => {
    for (let k = 0; k < 3; k++) triangleAt.set(edgeKey(triangles[t + k], triangles[t + ((k + 1) % 3)]), t);
  };
  for (let t = 0; t < triangles.length; t += 3) note(t);
  let last = first;
  for (let i = 1; i <= corners; i++) {
    const c = (first + i) % corners;
    if (has[c] === 0) continue;
    const left = Array.from({ length: (c - last - 1 + corners) % corners }, (_, k) => (last + 1 + k) % corners);
    if (left.length > 0) {
      const t = triangleAt.get(edgeKey(last, c));
      if (t === undefined || last === c) return undefined;
      const k = [0, 1, 2].find((j) => edgeKey(triangles[t + j], triangles[t + ((j + 1) % 3)]) === edgeKey(last, c))!;
      const tip = triangles[t + ((k + 2) % 3)];
      const row = [last, ...left, c];
      if (triangles[t + k] !== last) row.reverse();
      triangles.splice(t, 3, row[0], row[1], tip);
      note(t);
      for (let r = 1; r + 1 < row.length; r++) note(triangles.push(row[r], row[r + 1], tip) - 3);
    }
    last = c;
  }
  return triangles.length === 3 * (corners - 2) ? triangles : undefined;
}

/** Share of the area by which triangles may miss the polygon: rounding. */
const ROUNDING = 1e-9;

/** The triangles, counterclockwise; undefined where they do not cover the polygon just once. */
function turnedAlike(flat: readonly number[], triangles: number[]): number[] | undefined {
  const turn = (a: number, b: number, c: number) =>
    (flat[2 * b] - flat[2 * a]) * (flat[2 * c + 1] - flat[2 * a + 1]) -
    (flat[2 * b + 1] - flat[2 * a + 1]) * (flat[2 * c] - flat[2 * a]);
  let area = 0;
  for (let i = 1; i + 1 < flat.length / 2; i++) area += turn(0, i, i + 1);
  let signed = 0;
  let covered = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const a = turn(triangles[t], triangles[t + 1], triangles[t + 2]);
    signed += a;
    covered += Math.abs(a);
  }
  if (!(area > 0 && Math.abs(covered - area) <= ROUNDING * area && covered - Math.abs(signed) <= ROUNDING * area))
    return undefined;
  if (signed < 0) {
    for (let t = 0; t < triangles.length; t += 3) {
      [triangles[t + 1], triangles[t + 2]] = [triangles[t + 2], triangles[t + 1]];
    }
  }
  return triangles;
}
