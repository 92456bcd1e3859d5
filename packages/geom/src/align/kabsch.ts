import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { FettleError } from '../error.js';
import { composed, type Rigid } from './rigid.js';

/**
 * The rigid motion that takes points onto others with the least squared distances (W. Kabsch, Acta Cryst. A 32 (1976) 922 and 34
 * (1978) 827; never a mirror): centroid onto centroid, rotation by the singular vectors of Σ from·toᵀ.
 *
 * @param from xyz xyz …, mm
 * @param to as many places, each for the one in `from`, mm
 * @throws FettleError `align-pairs` for fewer than three pairs or places along one line, which leave a turn open
 */
export function motionOfPairs(from: Float64Array, to: Float64Array): Rigid {
  const n = from.length / 3;
  const a = middleOf(from);
  const b = middleOf(to);
  let motion = rotationOfPairs(from, a, to, b);
  // Once more about what is left: the rounding of sums over large coordinates goes away with it.
  for (let round = 0; round < 2; round++) {
    const moved = new Float64Array(3 * n);
    const { r, t } = motion;
    for (let i = 0; i < 3 * n; i += 3)
      for (let k = 0; k < 3; k++)
        moved[i + k] = r[3 * k] * from[i] + r[3 * k + 1] * from[i + 1] + r[3 * k + 2] * from[i + 2] + t[k];
    motion = composed(rotationOfPairs(moved, middleOf(moved), to, b), motion);
  }
  return motion;
}

function rotationOfPairs(from: Float64Array, a: Float64Array, to: Float64Array, b: Float64Array): Rigid {
  const sums = Matrix.zeros(3, 3);
  for (let i = 0; i < from.length; i += 3)
    for (let j = 0; j < 3; j++)
      for (let k = 0; k < 3; k++) sums.set(j, k, sums.get(j, k) + (from[i + j] - a[j]) * (to[i + k] - b[k]));
  const svd = new SingularValueDecomposition(sums, { autoTranspose: true });
  const [most, second] = svd.diagonal;
  if (from.length < 9 || !(second > 1e-12 * most))
    throw new FettleError(
      'align-pairs',
      `${from.length / 3} pairs of places along one line leave a turn about it open. Give at least three pairs that are not.`,
    );
  const u = svd.leftSingularVectors;
  const v = svd.rightSingularVectors;
  const sign = Math.sign(determinant(u) * determinant(v));
  const r = new Float64Array(9);
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++)
      r[3 * i + j] = v.get(i, 0) * u.get(j, 0) + v.get(i, 1) * u.get(j, 1) + sign * v.get(i, 2) * u.get(j, 2);
  const t = Float64Array.from([0, 1, 2], (k) => b[k] - (r[3 * k] * a[0] + r[3 * k + 1] * a[1] + r[3 * k + 2] * a[2]));
  return { r, t };
}

const determinant = (m: Matrix): number =>
  m.get(0, 0) * (m.get(1, 1) * m.get(2, 2) - m.get(1, 2) * m.get(2, 1)) -
  m.get(0, 1) * (m.get(1, 0) * m.get(2, 2) - m.get(1, 2) * m.get(2, 0)) +
  m.get(0, 2) * (m.get(1, 0) * m.get(2, 1) - m.get(1, 1) * m.get(2, 0));

function middleOf(places: Float64Array): Float64Array {
  const middle = new Float64Array(3);
  for (let i = 0; i < places.length; i++) middle[i % 3] += (3 * places[i]) / places.length;
  return middle;
}
