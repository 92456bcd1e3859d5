import type { Bounds, Random } from '@fettle/geom';

/** A random function of place, mean 0 and variance 1. Neighbors err together: covariance exp(−r² / 2ℓ²) at distance r. */
export type Field = (x: number, y: number, z: number) => number;

/** Lattice nodes to either side that reach a point: those left out hold under 0.1 % of the variance. */
const reach = 2;

/**
 * Independent deviates on a lattice of step ℓ, smeared by exp(−r² / ℓ²) and divided by the root of the summed squared
 * weights, so that the variance is 1 at every place: white noise smeared by a Gaussian of width ℓ/√2 has the covariance
 * exp(−r² / 2ℓ²). Defined inside `bounds` only.
 */
export function correlatedField(random: Random, bounds: Bounds, length: number): Field {
  const [x0, y0, z0] = bounds.min;
  const nodes = (axis: 0 | 1 | 2) => Math.ceil((bounds.max[axis] - bounds.min[axis]) / length) + 2 * reach;
  const nx = nodes(0);
  const ny = nodes(1);
  const nz = nodes(2);
  const lattice = new Float32Array(nx * ny * nz);
  for (let i = 0; i < lattice.length; i++) lattice[i] = random.normal();

  const weights = new Float64Array(3 * 2 * reach);
  /** Fills the weights along one axis; returns the sum of their squares. */
  const weigh = (axis: number, fraction: number): number => {
    let squares = 0;
    for (let k = 0; k < 2 * reach; k++) {
      const t = fraction + reach - 1 - k;
      const w = Math.exp(-t * t);
      weights[axis * 2 * reach + k] = w;
      squares += w * w;
    }
    return squares;
  };

  return (x, y, z) => {
    const u = (x - x0) / length;
    const v = (y - y0) / length;
    const w = (z - z0) / length;
    const i = Math.floor(u);
    const j = Math.floor(v);
    const k = Math.floor(w);
    const squares = weigh(0, u - i) * weigh(1, v - j) * weigh(2, w - k);
    let sum = 0;
    for (let c = 0; c < 2 * reach; c++) {
      let slice = 0;
      for (let b = 0; b < 2 * reach; b++) {
        const start = ((k + c) * ny + j + b) * nx + i;
        let row = 0;
        for (let a = 0; a < 2 * reach; a++) row += weights[a]! * lattice[start + a]!;
        slice += weights[2 * reach + b]! * row;
      }
      sum += weights[4 * reach + c]! * slice;
    }
    return sum / Math.sqrt(squares);
  };
}
