import { addScaled, distance as between, type Vec3 } from '../../../math/vec3.js';
import { alikeAt, type Kernel, STEPS } from '../../../noise/kernel-table.js';
import type { Contrast } from './contrast.js';
import { type Neighbors, neighborsOf } from './neighbors.js';
import { type Distances, PARTS, type Patches, WHOLE } from './patches.js';
import { leastEigenvalue, type Tridiagonal, tridiagonalize } from './tridiagonal.js';

/** The correlated part of the noise, of one kernel and length, as the patches see it. */
export interface Field {
  readonly length: number;
  readonly contrasts: Tridiagonal;
  /** Covariance of the parameters for unit variance of a patch's mean, m×m. */
  readonly covariance: Float64Array;
  /** Mean kernel over two points of one unit, by level: 1 for a point with itself, cells, half parts, parts, halves, patches. */
  readonly alike: readonly number[];
  /** Number of independent pieces of its detail: of the field itself it has one over the mean square of the kernel. */
  readonly details: number;
}

/** Lengths below this share of a patch's distance to the next see neighbors by their cells. */
const SHORT = 0.5;

export function fieldOf(
  patches: Patches,
  reduced: Contrast,
  apart: Separations,
  kernel: Kernel,
  length: number,
): Field {
  const { size, within, count, units } = patches;
  const { table, reach, detail } = kernel;
  // Over all pairs of one unit: a point with itself, and with another.
  const mean = ({ distance, weight }: Distances, itself: number, isSquared = false): number => {
    if (distance.length === 0) return 1;
    let sum = 0;
    for (let q = 0; q < distance.length; q++) {
      const alike = alikeAt(table, (distance[q] / length) * STEPS);
      sum += weight[q] * (isSquared ? alike * alike : alike);
    }
    return itself + (1 - itself) * sum;
  };
  const alike = [1, ...within.map((distances, l) => mean(distances, units[l + 1] / units[0]))];
  const inPart = alike[PARTS];
  const inPartSquared = mean(within[PARTS - 1], 0, true);
  const { first, distance, weight, same, nearest, neighbors, spacing } = apart;
  const isShort = length < SHORT * spacing;
  const perLength = STEPS / length;
  const far = reach * length;
  const matrix = new Float64Array(size * size);
  let told = 0;
  let squared = 0;
  let pair = 0;
  for (let g = 0; g < size; g++) {
    for (let h = 0; h <= g; h++) {
      const from = first[pair++];
      // Most pairs of patches are too far apart for most lengths.
      if (nearest[pair - 1] > far) continue;
      let sum = 0;
      let squares = 0;
      if (isShort && neighbors.first[pair] > neighbors.first[pair - 1]) {
        for (let d = neighbors.first[pair - 1]; d < neighbors.first[pair]; d++) {
          const like = alikeAt(table, neighbors.distance[d] * perLength);
          sum += neighbors.weight[d] * like;
          squares += neighbors.weight[d] * like * like;
        }
        squared += (2 * squares * count[g] * count[h]) / (units[0] * units[0]);
        matrix[g * size + h] = sum;
        continue;
      }
      const to = first[pair];
      for (let d = from; d < to; d++) {
        const near = alikeAt(table, distance[2 * d] * perLength);
        const wide = alikeAt(table, distance[2 * d + 1] * perLength);
        sum += weight[d] * (near + wide);
        squares += weight[d] * (near * near + wide * wide);
      }
      if (g === h) {
        sum += same[g] * inPart;
        squares += same[g] * inPartSquared;
        told += (sum * count[g]) / units[0];
      }
      squared += ((g === h ? 1 : 2) * squares * count[g] * count[h]) / (units[0] * units[0]);
      matrix[g * size + h] = sum;
    }
  }
  // A short length is told better by pairs of points than by the parts' middles.
  const inPatch = alike[WHOLE];
  for (let g = 0; g < size; g++) matrix[g * (size + 1)] *= inPatch / told;
  const { covariance, contrasts } = reduced.split(matrix, 1 / inPatch, Math.max(0, alike[WHOLE - 1] / inPatch - 1));
  const vector = reduced.residual.slice();
  return {
    length,
    contrasts: positive(tridiagonalize(contrasts, vector.length, vector)),
    covariance,
    alike,
    details: detail / squared,
  };
}

/**
 * Kernels averaged over distances that stand for many may leave a covariance a little negative in some direction. It gets as much white
 * noise as lifts that to zero.
 */
function positive(contrasts: Tridiagonal): Tridiagonal {
  const lift = Math.max(0, -leastEigenvalue(contrasts));
  return lift > 0 ? { ...contrasts, diagonal: contrasts.diagonal.map((d) => d + lift) } : contrasts;
}

/**
 * Distances between the points of patches, once for all kernels and lengths: for each two parts their middles' distance, give or take
 * how far their points spread along it, and aside.
 *
 * Tried: root mean square distances. A kernel averaged over a part is then up to an eighth too low, which speaks for rough noise
 * where it is smooth. And the middles of whole patches where those are far apart, quicker by a tenth: where white noise is little,
 * intervals of a 90° arc then cover 60 % instead of 92.
 */
export interface Separations {
  /** Mean distance from a patch to its nearest neighbor, mm. */
  readonly spacing: number;
  /** Where the weights of each pair (g, h ≤ g) start. */
  readonly first: Uint32Array;
  /** Two for each weight: single precision is plenty, and half to read. */
  readonly distance: Float32Array;
  /** Share of the pair's points that are as far apart as each of the two distances. */
  readonly weight: Float32Array;
  /** The least distance of each pair, in the order of `first`; 0 of a patch with itself. */
  readonly nearest: Float64Array;
  /** Chance that two points of a patch lie in the same part. */
  readonly same: Float64Array;
  /** For lengths below half a patch. */
  readonly neighbors: Neighbors;
}

export function separations(patches: Patches): Separations {
  const { size, parts, within } = patches;
  const middles = parts.map((own) =>
    own.reduce<Vec3>((sum, { middle, share }) => addScaled(sum, middle, share), [0, 0, 0]),
  );
  let spacing = 0;
  for (let g = 0; g < size; g++) {
    let nearest = Infinity;
    for (let h = 0; h < size; h++) if (h !== g) nearest = Math.min(nearest, between(middles[g], middles[h]));
    spacing += nearest / size;
  }
  // Cells stand for their points: what they spread inside the cells is made up for by what pairs of points say.
  let seen = 0;
  const inPart = within[PARTS - 1];
  inPart.distance.forEach((d, q) => {
    seen += inPart.weight[q] * d * d;
  });
  let told = 0;
  let total = 0;
  for (const own of parts) {
    for (const { spread } of own) told += 2 * (spread[0] + spread[1] + spread[2]);
    total += own.length;
  }
  const scale = told > 0 ? (seen * total) / told : 0;

  // One for each two parts, of one patch or of two, and a patch has at most four.
  const most = (total * (total + 4)) / 2;
  const distance = new Float32Array(2 * most);
  const weight = new Float32Array(most);
  const first = new Uint32Array((size * (size + 1)) / 2 + 1);
  const nearest = new Float64Array((size * (size + 1)) / 2);
  let pair = 0;
  let d = 0;
  for (let g = 0; g < size; g++) {
    for (let h = 0; h <= g; h++) {
      let least = g === h ? 0 : Infinity;
      for (const p of parts[g]) {
        for (const q of parts[h]) {
          if (p === q) continue;
          const x = p.middle[0] - q.middle[0];
          const y = p.middle[1] - q.middle[1];
          const z = p.middle[2] - q.middle[2];
          const apart = Math.sqrt(x * x + y * y + z * z);
          const a = p.spread;
          const b = q.spread;
          const form =
            x * x * (a[0] + b[0]) +
            y * y * (a[1] + b[1]) +
            z * z * (a[2] + b[2]) +
            2 * (x * y * (a[3] + b[3]) + x * z * (a[4] + b[4]) + y * z * (a[5] + b[5]));
          const along = apart > 0 ? Math.max(0, (scale * form) / (apart * apart)) : 0;
          const aside = Math.max(0, scale * (a[0] + b[0] + a[1] + b[1] + a[2] + b[2]) - along);
          const give = Math.sqrt(along);
          const near = Math.sqrt((apart - give) ** 2 + aside);
          if (near < least) least = near;
          distance[2 * d] = near;
          distance[2 * d + 1] = Math.sqrt((apart + give) ** 2 + aside);
          weight[d++] = (p.share * q.share) / 2;
        }
      }
      nearest[pair] = least;
      first[++pair] = d;
    }
  }
  const same = Float64Array.from(parts, (own) => own.reduce((sum, { share }) => sum + share * share, 0));
  return { spacing, first, distance, weight, same, nearest, neighbors: neighborsOf(patches, middles, spacing) };
}
