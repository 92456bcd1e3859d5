import type { Circle, Cylinder, Plane, Sphere, Vec3 } from '@fettle/geom';
import { skinAt } from '../../examples/pump/casting.js';
import { pointToPump } from '../../examples/pump/pose.js';
import { skinLength, usualNoise } from '../../examples/pump/scan-pump.js';
import type { Truth } from '../../examples/pump/truth.js';

type Shape = Plane | Circle | Sphere | Cylinder;

/** How a fit came out against the truth, and how far it might have, mm and radians. */
export interface Expectation {
  /** What may move: `shift along u`, `tilt toward v`, `radius` … */
  readonly names: readonly string[];
  /** Measured less true, one a name. */
  readonly moved: readonly number[];
  /** Expected standard deviations, one a name. */
  readonly sigmas: readonly number[];
  /** Where on the true feature shifts are counted and tilts turn about, scan axes. */
  readonly at: Vec3;
}

/**
 * How far a least-squares fit may come out from the truth, from the noise the scan was made with, not from its residuals.
 *
 * To first order a fit moves by δ = (JᵀJ)⁻¹ Jᵀ e, with e the points' displacements along the normals and J how each distance
 * changes with each parameter, at the true feature. The generator states the covariance C of e: what the scanner's
 * neighbors share, what the casting's skin shares, and each point's own. So cov δ = (JᵀJ)⁻¹ Jᵀ C J (JᵀJ)⁻¹, computed here
 * in full, pair of points by pair of points. A circle is taken as fitted in its true plane; `given`: not fitted at all.
 */
export function expectationOf(
  measured: Shape,
  is: Shape,
  points: readonly Vec3[],
  truth: Truth,
  given?: 'radius',
): Expectation {
  const { names, row, moved, at } = parametersOf(is, measured, centroid(points));
  const kept = names.map((_, k) => k).filter((k) => names[k] !== given);
  const J = points.map((p) => {
    const all = row(p);
    return kept.map((k) => all[k]!);
  });
  const inverse = invert(kept.map((_, a) => kept.map((_, b) => J.reduce((sum, r) => sum + r[a]! * r[b]!, 0))));
  const middle = spreadOf(J, points, truth);
  const sigmas = kept.map((_, a) => {
    let variance = 0;
    for (let b = 0; b < kept.length; b++)
      for (let c = 0; c < kept.length; c++) variance += inverse[a]![b]! * middle[b]![c]! * inverse[c]![a]!;
    return Math.sqrt(variance);
  });
  return { names: kept.map((k) => names[k]!), moved: kept.map((k) => moved[k]!), sigmas, at };
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const along = (a: Vec3, b: Vec3, s: number): Vec3 => [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]];
const unit = (a: Vec3): Vec3 => along([0, 0, 0], a, 1 / Math.sqrt(dot(a, a)));
const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

/** Jᵀ C J. */
function spreadOf(J: readonly number[][], points: readonly Vec3[], truth: Truth): number[][] {
  const m = J[0]!.length;
  const { correlated, length, white } = usualNoise;
  const skin = points.map((p) => skinAt(...pointToPump(truth.frame, p)));
  const sum = Array.from({ length: m }, () => new Array<number>(m).fill(0));
  const far = (5 * Math.max(length, skinLength)) ** 2;
  for (let i = 0; i < points.length; i++) {
    const [x, y, z] = points[i]!;
    for (let j = 0; j <= i; j++) {
      const q = points[j]!;
      const squared = (x - q[0]) ** 2 + (y - q[1]) ** 2 + (z - q[2]) ** 2;
      if (squared > far) continue;
      let c = correlated ** 2 * Math.exp(-squared / (2 * length ** 2));
      c += skin[i]! * skin[j]! * Math.exp(-squared / (2 * skinLength ** 2));
      if (i === j) c = (c + white ** 2) / 2;
      const [a, b] = [J[i]!, J[j]!];
      for (let k = 0; k < m; k++) for (let l = 0; l < m; l++) sum[k]![l]! += c * (a[k]! * b[l]! + b[k]! * a[l]!);
    }
  }
  return sum;
}

interface Parameters {
  readonly names: readonly string[];
  /** How a point's distance changes with each parameter, but for its sign. */
  row(p: Vec3): readonly number[];
  /** Measured less true, parameter by parameter. */
  readonly moved: readonly number[];
  readonly at: Vec3;
}

function parametersOf(is: Shape, measured: Shape, middle: Vec3): Parameters {
  if (is.kind === 'sphere') {
    const found = measured as Sphere;
    return {
      names: ['shift along x', 'shift along y', 'shift along z', 'radius'],
      row: (p) => [...unit(minus(p, is.center)), 1],
      moved: [...minus(found.center, is.center), found.radius - is.radius],
      at: is.center,
    };
  }
  const w = is.kind === 'cylinder' ? is.direction : is.normal;
  const u = unit(cross(w, Math.abs(w[0]) < 0.6 ? [1, 0, 0] : [0, 1, 0]));
  const v = cross(w, u);
  if (is.kind === 'plane') {
    const found = measured as Plane;
    const at = along(middle, w, -dot(w, minus(middle, is.point)));
    const normal = dot(found.normal, w) < 0 ? along([0, 0, 0], found.normal, -1) : found.normal;
    return {
      names: ['shift', 'tilt toward u', 'tilt toward v'],
      row: (p) => [1, -dot(u, minus(p, at)), -dot(v, minus(p, at))],
      moved: [-dot(normal, minus(at, found.point)) / dot(normal, w), dot(normal, u), dot(normal, v)],
      at,
    };
  }
  if (is.kind === 'circle') {
    const found = measured as Circle;
    const off = minus(found.center, is.center);
    return {
      names: ['shift along u', 'shift along v', 'radius'],
      row: (p) => {
        const from = minus(p, is.center);
        const out = unit(along(from, w, -dot(from, w)));
        return [dot(out, u), dot(out, v), 1];
      },
      moved: [dot(off, u), dot(off, v), found.radius - is.radius],
      at: is.center,
    };
  }
  const found = measured as Cylinder;
  const at = along(is.point, w, dot(w, minus(middle, is.point)));
  const direction = dot(found.direction, w) < 0 ? along([0, 0, 0], found.direction, -1) : found.direction;
  const pierces = along(found.point, direction, dot(w, minus(at, found.point)) / dot(w, direction));
  const off = minus(pierces, at);
  return {
    names: ['shift along u', 'shift along v', 'tilt toward u', 'tilt toward v', 'radius'],
    row: (p) => {
      const from = minus(p, at);
      const h = dot(from, w);
      const out = unit(along(from, w, -h));
      return [dot(out, u), dot(out, v), h * dot(out, u), h * dot(out, v), 1];
    },
    moved: [dot(off, u), dot(off, v), dot(direction, u), dot(direction, v), found.radius - is.radius],
    at,
  };
}

function centroid(points: readonly Vec3[]): Vec3 {
  const sum = points.reduce<Vec3>((total, p) => along(total, p, 1), [0, 0, 0]);
  return along([0, 0, 0], sum, 1 / points.length);
}

/** Gauss-Jordan with pivoting; a handful of parameters. */
function invert(matrix: readonly number[][]): number[][] {
  const n = matrix.length;
  const rows = matrix.map((r, i) => [...r, ...Array.from({ length: n }, (_, j) => (i === j ? 1 : 0))]);
  for (let c = 0; c < n; c++) {
    const pivot = rows.slice(c).reduce((best, r, i) => (Math.abs(r[c]!) > Math.abs(rows[best]![c]!) ? c + i : best), c);
    [rows[c], rows[pivot]] = [rows[pivot]!, rows[c]!];
    const head = rows[c]!.map((value) => value / rows[c]![c]!);
    rows.forEach((r, i) => {
      rows[i] = i === c ? head : r.map((value, k) => value - r[c]! * head[k]!);
    });
  }
  return rows.map((r) => r.slice(n));
}
