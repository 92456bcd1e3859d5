import { nthSmallest } from '../math/nth-smallest.js';
import { scaledCholesky } from '../math/scaled-solve.js';
import { dot, perpendiculars, type Vec3 } from '../math/vec3.js';
import type { Cells } from './cubes.js';

/** A smooth, hardly bent surface of the scan, in cells. */
export interface SmoothSurface {
  /** Cells well inside it. */
  readonly cells: Int32Array;
  /** Axes it is seen in: w across it, where it began. */
  readonly axes: readonly [u: Vec3, v: Vec3, w: Vec3];
  /** Where it began. */
  readonly origin: Vec3;
  /** Whether it bends by more than its noise, so that a second order does not carry it. */
  readonly isBent: boolean;
  /** mm² */
  readonly area: number;
}

/** At most so many surfaces are looked at, those with most cells. */
const MOST = 8;
/** Seeds tried. */
const TRIES = 200;
/** A cell is flat if it is thinner than this share of its side. */
const FLAT = 0.2;
/** A neighbor goes on with the surface if its middle is this many thicknesses from it at most, */
const THICKNESSES = 6;
/** and its plane turned against it by no more than this, or by what its thickness allows, radians; */
const TURN = 0.12;
/** and against where the surface began by no more than this, as a cosine. */
const MOST_TURN = Math.cos((25 * Math.PI) / 180);
/** Cells a surface has at least, those inside it counted. */
const LEAST = 16;

/** The largest smooth surfaces, largest first: grown over cells from where most neighbors agree, along a surface of second order. */
export function smoothSurfaces(cells: Cells): SmoothSurface[] {
  const { size, thickness, normal, side } = cells;
  const isFlat = new Uint8Array(size);
  const flatThickness: number[] = [];
  for (let c = 0; c < size; c++) {
    if (normal[3 * c] === 0 && normal[3 * c + 1] === 0 && normal[3 * c + 2] === 0) continue;
    if (thickness[c] > FLAT * side) continue;
    isFlat[c] = 1;
    flatThickness.push(thickness[c]);
  }
  if (flatThickness.length < LEAST) return [];
  const usual = nthSmallest(Float64Array.from(flatThickness), flatThickness.length >> 1);
  const agreeing = agreement(cells, isFlat);
  const order = Int32Array.from({ length: size }, (_, c) => c).sort((a, b) => agreeing[b] - agreeing[a] || a - b);
  const taken = new Int32Array(size).fill(-1);
  const found: SmoothSurface[] = [];
  let tries = 0;
  for (const seed of order) {
    if (tries >= TRIES || agreeing[seed] < 4) break;
    if (taken[seed] >= 0) continue;
    const surface = grow(cells, isFlat, taken, seed, tries++, usual);
    if (surface) found.push(surface);
  }
  return found.sort((a, b) => b.area - a.area).slice(0, MOST);
}

const NEIGHBORS: readonly (readonly [number, number, number])[] = [-1, 0, 1]
  .flatMap((x) => [-1, 0, 1].flatMap((y) => [-1, 0, 1].map((z) => [x, y, z] as const)))
  .filter(([x, y, z]) => x !== 0 || y !== 0 || z !== 0);

/** How many neighbors of each flat cell have nearly its normal. */
function agreement(cells: Cells, isFlat: Uint8Array): Int32Array {
  const { at, normal, find, size } = cells;
  const found = new Int32Array(size);
  for (let c = 0; c < size; c++) {
    if (!isFlat[c]) continue;
    for (const [dx, dy, dz] of NEIGHBORS) {
      const d = find(at[3 * c] + dx, at[3 * c + 1] + dy, at[3 * c + 2] + dz);
      if (d < 0 || !isFlat[d]) continue;
      const cos =
        normal[3 * c] * normal[3 * d] + normal[3 * c + 1] * normal[3 * d + 1] + normal[3 * c + 2] * normal[3 * d + 2];
      if (Math.abs(cos) > 0.99) found[c]++;
    }
  }
  return found;
}

function grow(
  cells: Cells,
  isFlat: Uint8Array,
  taken: Int32Array,
  seed: number,
  label: number,
  usual: number,
): SmoothSurface | undefined {
  const { normal, middle, thickness, at, find, side } = cells;
  const w: Vec3 = [normal[3 * seed], normal[3 * seed + 1], normal[3 * seed + 2]];
  const [u, v] = perpendiculars(w);
  const origin: Vec3 = [middle[3 * seed], middle[3 * seed + 1], middle[3 * seed + 2]];
  const local = (c: number): readonly [number, number, number] => {
    const d: Vec3 = [middle[3 * c] - origin[0], middle[3 * c + 1] - origin[1], middle[3 * c + 2] - origin[2]];
    return [dot(d, u), dot(d, v), dot(d, w)];
  };
  let surface: Height = flatHeight;
  const own = [seed];
  taken[seed] = label;
  const limit = (c: number): number => THICKNESSES * Math.max(usual, Math.min(thickness[c], 2 * usual));
  const goesOn = (c: number): boolean => {
    const [x, y, h] = local(c);
    const { height, alongX, alongY } = surface(x, y);
    if (Math.abs(h - height) > limit(c)) return false;
    const long = Math.hypot(alongX, alongY, 1);
    const n: Vec3 = [normal[3 * c], normal[3 * c + 1], normal[3 * c + 2]];
    const cos = Math.abs(dot(n, w) - alongX * dot(n, u) - alongY * dot(n, v)) / long;
    const turn = TURN + (2 * thickness[c]) / side;
    return cos > Math.cos(turn) && 1 / long > MOST_TURN;
  };
  for (let begun = 0; begun < own.length; ) {
    const until = Math.max(2 * own.length, 32);
    for (let k = begun; k < own.length && own.length < until; k++) {
      const c = own[k];
      begun = k + 1;
      for (const [dx, dy, dz] of NEIGHBORS) {
        const d = find(at[3 * c] + dx, at[3 * c + 1] + dy, at[3 * c + 2] + dz);
        if (d < 0 || !isFlat[d] || taken[d] >= 0 || !goesOn(d)) continue;
        taken[d] = label;
        own.push(d);
      }
    }
    surface = secondOrder(own.map(local)) ?? surface;
  }
  const kept = own.filter((c) => goesOn(c));
  const isOwn = new Set(kept);
  const inside = kept.filter((c) => isInside(cells, c, isOwn, w));
  if (inside.length < LEAST) return undefined;
  const heights = inside.map((c) => {
    const [x, y] = local(c);
    const { alongX, alongY } = surface(x, y);
    return Math.hypot(alongX, alongY);
  });
  const bend = Math.max(...heights) - Math.min(...heights);
  return {
    cells: Int32Array.from(inside),
    axes: [u, v, w],
    origin,
    isBent: bend > 0.05,
    area: inside.length * cellArea(side, w),
  };
}

/** Area of a plane within a cube that it crosses, on average: by Cauchy, side² over the mean of the shadow, for a normal w. */
const cellArea = (side: number, [x, y, z]: Vec3): number => (side * side) / (Math.abs(x) + Math.abs(y) + Math.abs(z));

/** Whether the surface goes on to all sides of a cell, so that no edge is near. */
function isInside({ at, find, normal }: Cells, c: number, isOwn: ReadonlySet<number>, w: Vec3): boolean {
  const n: Vec3 = [normal[3 * c], normal[3 * c + 1], normal[3 * c + 2]];
  const up = dot(n, w) < 0 ? -1 : 1;
  for (const [dx, dy, dz] of NEIGHBORS) {
    // Neighbors in the surface: those whose middle it comes near.
    if (Math.abs(up * (n[0] * dx + n[1] * dy + n[2] * dz)) > 0.5) continue;
    const x = at[3 * c] + dx;
    const y = at[3 * c + 1] + dy;
    const z = at[3 * c + 2] + dz;
    if (isOwn.has(find(x, y, z))) continue;
    // A plane may pass by the neighbor and go through the one before or behind it.
    const axis = [0, 1, 2].reduce((most, k) => (Math.abs(n[k]) > Math.abs(n[most]) ? k : most), 0);
    const beside = (by: number): boolean =>
      isOwn.has(find(x + (axis === 0 ? by : 0), y + (axis === 1 ? by : 0), z + (axis === 2 ? by : 0)));
    if (!beside(1) && !beside(-1)) return false;
  }
  return true;
}

type Height = (x: number, y: number) => { readonly height: number; readonly alongX: number; readonly alongY: number };

const flatHeight: Height = () => ({ height: 0, alongX: 0, alongY: 0 });

/** Height of second order through the cells' middles; undefined of too few. */
function secondOrder(points: readonly (readonly [number, number, number])[]): Height | undefined {
  const n = points.length < 40 ? 3 : 6;
  if (points.length < 12) return undefined;
  let scale = 0;
  for (const [x, y] of points) scale = Math.max(scale, Math.abs(x), Math.abs(y));
  const matrix = new Float64Array(n * n);
  const right = new Float64Array(n);
  for (const [x, y, h] of points) {
    const [s, t] = [x / scale, y / scale];
    const terms = [1, s, t, s * s, s * t, t * t];
    for (let i = 0; i < n; i++) {
      right[i] += terms[i] * h;
      for (let j = 0; j < n; j++) matrix[i * n + j] += terms[i] * terms[j];
    }
  }
  const solved = scaledCholesky(matrix, n)?.solve(right);
  if (!solved) return undefined;
  const [a, b, c, d = 0, e = 0, f = 0] = solved;
  return (x, y) => {
    const [s, t] = [x / scale, y / scale];
    return {
      height: a + b * s + c * t + d * s * s + e * s * t + f * t * t,
      alongX: (b + 2 * d * s + e * t) / scale,
      alongY: (c + e * s + 2 * f * t) / scale,
    };
  };
}
