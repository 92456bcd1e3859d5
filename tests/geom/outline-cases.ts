/**
 * Points about a curve in a plane whose least-squares curve is known beforehand: deviations orthogonal to the
 * derivatives of the distances, along the curve's normals (null-space method, Forbes & Minh, Int. J. Metrol. Qual. Eng.
 * 3 (2012) 145-150). Nothing here is taken from the library under test.
 */
import type { Random, Vec3 } from '@fettle/geom';
import { Matrix, QrDecomposition } from 'ml-matrix';
import { crossOf, randomDirection, unit } from './criteria-contacts.js';

/**
 * A point of the curve in its own axes, its outward normal, and the derivatives of its distance by the curve's
 * parameters.
 */
export interface OutlinePoint {
  readonly at: readonly [number, number];
  readonly normal: readonly [number, number];
  readonly row: readonly number[];
}

/** On a slot about zero along x; `share` in [0, 1) runs around it from the end of the upper side. */
export function slotPoint(length: number, width: number, share: number): OutlinePoint {
  const half = (length - width) / 2;
  const radius = width / 2;
  const around = share * (4 * half + 2 * Math.PI * radius);
  const straight = (s: number, side: number): OutlinePoint => ({
    at: [s, side * radius],
    normal: [0, side],
    row: [0, -side, -side * s, 0, -0.5],
  });
  const end = (angle: number, side: number): OutlinePoint => {
    const [c, s] = [side * Math.cos(angle), side * Math.sin(angle)];
    // The end's center moves by half of a change in length, and back by half of one in width.
    return {
      at: [side * half + radius * c, radius * s],
      normal: [c, s],
      row: [-c, -s, -side * half * s, -Math.abs(c) / 2, (Math.abs(c) - 1) / 2],
    };
  };
  if (around < 2 * half) return straight(half - around, 1);
  if (around < 2 * half + Math.PI * radius) return end((around - 2 * half) / radius - Math.PI / 2, -1);
  if (around < 4 * half + Math.PI * radius) return straight(around - 3 * half - Math.PI * radius, -1);
  return end((around - 4 * half - Math.PI * radius) / radius - Math.PI / 2, 1);
}

/** On an ellipse about zero, its major axis along x. */
export function ellipsePoint(major: number, minor: number, angle: number): OutlinePoint {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const steep = Math.hypot(minor * c, major * s);
  const [nx, ny] = [(minor * c) / steep, (major * s) / steep];
  return {
    at: [major * c, minor * s],
    normal: [nx, ny],
    row: [-nx, -ny, minor * s * nx - major * c * ny, -nx * c, -ny * s],
  };
}

export interface OutlineCase {
  readonly positions: Float64Array;
  readonly center: Vec3;
  readonly normal: Vec3;
  readonly direction: Vec3;
  readonly rms: number;
}

/** Deviate the points within their null space, turn and move them. */
export function outlineCase(
  random: Random,
  points: readonly OutlinePoint[],
  noise: number,
  offset: number,
): OutlineCase {
  const jacobian = new Matrix(points.map((p) => [...p.row]));
  const q = new QrDecomposition(jacobian).orthogonalMatrix;
  let e = Matrix.columnVector(points.map(() => noise * random.normal()));
  for (let pass = 0; pass < 2; pass++) e = Matrix.sub(e, q.mmul(q.transpose().mmul(e)));
  const normal = randomDirection(random);
  const direction = unit(crossOf(normal, randomDirection(random)));
  const across = crossOf(normal, direction);
  const center = [1, 1, 1].map(() => offset * (2 * random.next() - 1)) as unknown as Vec3;
  const positions = Float64Array.from(
    points.flatMap(({ at, normal: n }, i) => {
      const d = e.get(i, 0);
      const [s, t] = [at[0] + d * n[0], at[1] + d * n[1]];
      return [0, 1, 2].map((k) => center[k] + s * direction[k] + t * across[k]);
    }),
  );
  return { positions, center, normal, direction, rms: Math.sqrt(e.dot(e) / points.length) };
}
