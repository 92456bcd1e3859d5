import { logGamma, studentFactor, studentTailFast } from '../math/distributions.js';
import { type Contrast, contrast } from './correlation-contrast.js';
import { KERNELS, type KernelTable, lookUp } from './correlation-kernel.js';
import type { Patches } from './correlation-patches.js';
import { inverseInformation } from './correlation-solve.js';
import { logDetAndForm, type Tridiagonal, tridiagonalize } from './correlation-tridiagonal.js';

/** Covariance of a fit's parameters by the noise in its own residuals, and how well that noise is known. */
export interface RandomPart {
  /** m×m, row-major. */
  readonly covariance: Float64Array;
  readonly degreesOfFreedom: number;
  /** Distance over which neighbors err together, mm: median of what the residuals allow. Zero: none to be seen. */
  readonly correlationLength: number;
}

/** Lengths tried, from a fifth of a patch to {@link LONGEST} of the span. */
const LENGTHS = 11;
const SHORTEST = 0.2;
const LONGEST = 0.3;
/** Shares of white noise in a patch's mean tried, evenly spaced in their logit. */
const WHITE_SHARES = Array.from({ length: 13 }, (_, i) => 1 / (1 + Math.exp(9 - (16 * i) / 12)));

/** One way the noise may be: how long, how rough, how white, seen by the patches alone or by all levels. */
interface Hypotheses {
  readonly size: number;
  readonly logWeight: Float64Array;
  /** Scale of the noise, mm², and its degrees of freedom. */
  readonly scale: Float64Array;
  readonly degrees: Float64Array;
  readonly field: Int32Array;
  readonly white: Float64Array;
}

export function randomPart(patches: Patches): RandomPart {
  const { parameters: m, size, units } = patches;
  const n = units[0];
  const perPatch = n / size;
  const reduced = contrast(patches);
  const nu = size - reduced.free.length;
  if (nu < 1) return { covariance: new Float64Array(m * m), degreesOfFreedom: 0, correlationLength: 0 };
  const whiteCovariance = inverseInformation(patches.information, m).map((x) => x * perPatch);

  const apart = separations(patches);
  const shortest = SHORTEST * apart.spacing;
  const longest = Math.max(LONGEST * patches.span, 2 * shortest);
  const fields: Field[] = [];
  for (const table of Object.values(KERNELS))
    for (let a = 0; a < LENGTHS; a++)
      fields.push(fieldOf(patches, reduced, apart, table, shortest * (longest / shortest) ** (a / (LENGTHS - 1))));

  const all = weigh(patches, fields, nu);
  return mix(all, fields, whiteCovariance, m, reduced.free);
}

/** The correlated part of the noise, of one kernel and length, as the patches see it. */
interface Field {
  readonly length: number;
  readonly contrasts: Tridiagonal;
  /** Covariance of the parameters for unit variance of a patch's mean, m×m. */
  readonly covariance: Float64Array;
  /** Mean kernel over two points of one cell, part, patch, after 1 for a point with itself. */
  readonly alike: readonly number[];
  /** Number of independent pieces it is worth. */
  readonly pieces: number;
}

function fieldOf(patches: Patches, reduced: Contrast, apart: Separations, table: KernelTable, length: number): Field {
  const { size, within, count, units } = patches;
  const mean = (distances: Float64Array): number => {
    let sum = 0;
    for (let q = 0; q < distances.length; q++) sum += lookUp(table, distances[q] / length);
    return distances.length ? sum / distances.length : 1;
  };
  const inCell = mean(within.cell);
  const inPart = mean(within.part);
  const { first, distance, same } = apart;
  const perLength = 1 / length;
  const matrix = new Float64Array(size * size);
  let inPatch = 0;
  let pair = 0;
  for (let g = 0; g < size; g++) {
    for (let h = 0; h <= g; h++) {
      const from = first[pair++];
      const to = first[pair];
      let sum = 0;
      for (let d = from; d < to; d++) sum += lookUp(table, distance[d] * perLength);
      let alike = sum / (to - from);
      if (g === h) {
        alike = same[g] * inPart + (to > from ? (1 - same[g]) * alike : 0);
        inPatch += (alike * count[g]) / units[0];
      }
      matrix[g * size + h] = alike;
      matrix[h * size + g] = alike;
    }
  }
  const { covariance, contrasts, vector } = reduced.split(matrix, 1 / inPatch);
  const nu = vector.length;
  const tridiagonal = tridiagonalize(contrasts, nu, vector);
  let trace = 0;
  let squares = 0;
  for (let i = 0; i < nu; i++) {
    trace += tridiagonal.diagonal[i];
    squares += tridiagonal.diagonal[i] ** 2 + (i < nu - 1 ? 2 * tridiagonal.off[i] ** 2 : 0);
  }
  return {
    length,
    contrasts: tridiagonal,
    covariance,
    alike: [1, inCell, inPart, inPatch],
    pieces: (trace * trace) / squares,
  };
}

/**
 * Weigh every hypothesis by the chance of the residuals under it (restricted likelihood of the patch means, scale integrated
 * out under the prior 1/σ²).
 */
function weigh(patches: Patches, fields: readonly Field[], nu: number): Hypotheses {
  const { size, units, squares } = patches;
  const n = units[0];
  const whites = WHITE_SHARES.length;
  const half = fields.length * whites;
  const logWeight = new Float64Array(2 * half);
  const scale = new Float64Array(2 * half);
  const degrees = new Float64Array(2 * half);
  const field = new Int32Array(2 * half);
  const white = new Float64Array(2 * half);
  const inner = new Float64Array(half);
  const out = new Float64Array(2);
  fields.forEach((f, k) => {
    WHITE_SHARES.forEach((share, j) => {
      const x = k * whites + j;
      logDetAndForm(f.contrasts, 1 - share, out);
      const [logDet, form] = out;
      let density = 0;
      let innerForm = 0;
      let innerDegrees = 0;
      for (let l = 0; l < 3; l++) {
        const pieces = units[l] - units[l + 1];
        if (pieces < 0.2 * units[l + 1]) continue;
        const seen = (squares[l] - squares[l + 1]) / pieces;
        if (!(seen > 0)) continue;
        const fromWhite = (share * n) / size;
        const fromField = ((1 - share) / f.alike[3]) * Math.max(0, f.alike[l] - f.alike[l + 1]) * (n / pieces);
        const expected = fromWhite + fromField;
        const whiteDegrees = Math.min(pieces, 2 * size);
        const fieldDegrees = Math.min(whiteDegrees, f.pieces);
        const d =
          (expected * expected) / ((fromWhite * fromWhite) / whiteDegrees + (fromField * fromField) / fieldDegrees);
        density += (d / 2) * Math.log(((d / 2) * seen) / expected) - logGamma(d / 2);
        innerForm += (d * seen) / expected;
        innerDegrees += d;
      }
      const together = nu + innerDegrees;
      const both = form + innerForm;
      logWeight[x] = density - logDet / 2 + logGamma(together / 2) - (together / 2) * Math.log(both / 2);
      scale[x] = both / together;
      degrees[x] = together;
      inner[x] =
        innerDegrees > 0 ? density + logGamma(innerDegrees / 2) - (innerDegrees / 2) * Math.log(innerForm / 2) : 0;
      logWeight[half + x] = -logDet / 2 + logGamma(nu / 2) - (nu / 2) * Math.log(form / 2);
      scale[half + x] = form / nu;
      degrees[half + x] = nu;
      field[x] = field[half + x] = k;
      white[x] = white[half + x] = share;
    });
  });
  // Noise of two kinds: what lies inside the patches has hypotheses of its own, and the ratio of the scales is free.
  const innerMean = logMean(inner);
  const freedom = Math.log(Math.max(Math.E, n / size));
  for (let x = half; x < 2 * half; x++) logWeight[x] += innerMean - Math.log(freedom);
  return { size: 2 * half, logWeight, scale, degrees, field, white };
}

function logMean(logs: Float64Array): number {
  let most = -Infinity;
  for (const l of logs) if (l > most) most = l;
  let sum = 0;
  for (const l of logs) sum += Math.exp(l - most);
  return most + Math.log(sum / logs.length);
}

const NEGLIGIBLE = 1e-3;

/** The parameters' distribution is a mixture of Student's t; a single one stands for it, with the same 95 % interval. */
function mix(
  all: Hypotheses,
  fields: readonly Field[],
  whiteCovariance: Float64Array,
  m: number,
  free: readonly number[],
): RandomPart {
  let most = -Infinity;
  for (let x = 0; x < all.size; x++) if (all.logWeight[x] > most) most = all.logWeight[x];
  const kept: number[] = [];
  const weight: number[] = [];
  let total = 0;
  for (let x = 0; x < all.size; x++) {
    const w = Math.exp(all.logWeight[x] - most);
    if (w < NEGLIGIBLE) continue;
    kept.push(x);
    weight.push(w);
    total += w;
  }
  const covariance = new Float64Array(m * m);
  const lengths: [number, number][] = [];
  kept.forEach((x, k) => {
    weight[k] /= total;
    const f = fields[all.field[x]];
    const share = all.white[x];
    for (let e = 0; e < m * m; e++)
      covariance[e] += weight[k] * all.scale[x] * ((1 - share) * f.covariance[e] + share * whiteCovariance[e]);
    lengths.push([share > 0.9 ? 0 : f.length, weight[k]]);
  });

  const deviation = new Float64Array(kept.length);
  const quantiles = free.map((a) => {
    kept.forEach((x, k) => {
      const share = all.white[x];
      const e = a * m + a;
      deviation[k] = Math.sqrt(
        all.scale[x] * ((1 - share) * fields[all.field[x]].covariance[e] + share * whiteCovariance[e]),
      );
    });
    const at = (chance: number): number => {
      let low = 0;
      let high = 32 * Math.sqrt(covariance[a * m + a]);
      for (let i = 0; i < 24; i++) {
        const middle = (low + high) / 2;
        let tail = 0;
        for (let k = 0; k < kept.length; k++)
          tail += weight[k] * studentTailFast(middle / deviation[k], all.degrees[kept[k]]);
        if (tail > chance) low = middle;
        else high = middle;
      }
      return (low + high) / 2;
    };
    return { wide: at(0.05), narrow: at(1 - ONE_SIGMA) };
  });
  let inverseDegrees = 0;
  for (const { wide, narrow } of quantiles) inverseDegrees += 1 / (degreesOf(wide / narrow) * free.length);
  const degreesOfFreedom = 1 / inverseDegrees;
  const factor = studentFactor(0.95, degreesOfFreedom);
  const stretch = new Float64Array(m);
  free.forEach((a, k) => {
    stretch[a] = quantiles[k].wide / factor / Math.sqrt(covariance[a * m + a]);
  });
  for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) covariance[a * m + b] *= stretch[a] * stretch[b];
  lengths.sort((p, q) => p[0] - q[0]);
  let below = 0;
  const median = lengths.find(([, w]) => {
    below += w;
    return below >= 0.5;
  });
  return { covariance, degreesOfFreedom, correlationLength: median?.[0] ?? 0 };
}

const ONE_SIGMA = 0.6826894921370859;

/** Degrees of freedom of the t distribution whose 95 % and one-sigma factors stand in this ratio; from 1 to 10⁴. */
function degreesOf(ratio: number): number {
  ratios ??= Float64Array.from({ length: RATIOS }, (_, i) => {
    const degrees = 10 ** ((4 * i) / (RATIOS - 1));
    return studentFactor(0.95, degrees) / studentFactor(ONE_SIGMA, degrees);
  });
  let i = 0;
  while (i < RATIOS - 2 && ratios[i + 1] > ratio) i++;
  const part = Math.min(1, Math.max(0, (ratios[i] - ratio) / (ratios[i] - ratios[i + 1])));
  return 10 ** ((4 * (i + part)) / (RATIOS - 1));
}
const RATIOS = 81;
let ratios: Float64Array | undefined;

/** Distances between patches, taken between their parts where they are near, once for all kernels and lengths. */
interface Separations {
  /** Mean distance from a patch to its nearest neighbor, mm. */
  readonly spacing: number;
  /** Where the distances of each pair (g, h ≤ g) start. */
  readonly first: Uint32Array;
  readonly distance: Float64Array;
  /** Chance that two points of a patch lie in the same part. */
  readonly same: Float64Array;
}

/** In patch spacings: farther apart, two patches are as alike as their middles. */
const NEAR = 2.5;

function separations({ size, parts, within }: Patches): Separations {
  const middle = new Float64Array(3 * size);
  parts.forEach((p, g) => {
    for (let i = 0; i < p.length; i++) middle[3 * g + (i % 3)] += (3 * p[i]) / p.length;
  });
  const squared = (p: Float64Array, i: number, q: Float64Array, j: number): number =>
    (p[i] - q[j]) ** 2 + (p[i + 1] - q[j + 1]) ** 2 + (p[i + 2] - q[j + 2]) ** 2;
  let spacing = 0;
  for (let g = 0; g < size; g++) {
    let nearest = Infinity;
    for (let h = 0; h < size; h++) if (h !== g) nearest = Math.min(nearest, squared(middle, 3 * g, middle, 3 * h));
    spacing += Math.sqrt(nearest) / size;
  }
  // Two points in different parts: the middles' distance, and the spread of each about its middle.
  let spread = 0;
  for (let q = 0; q < within.part.length; q++) spread += within.part[q] ** 2 / within.part.length;
  const near = (NEAR * spacing) ** 2;
  const first = new Uint32Array((size * (size + 1)) / 2 + 1);
  const distance: number[] = [];
  let pair = 0;
  for (let g = 0; g < size; g++) {
    for (let h = 0; h <= g; h++) {
      const apart = squared(middle, 3 * g, middle, 3 * h);
      if (apart > near) {
        distance.push(Math.sqrt(apart + spread));
      } else {
        for (let a = 0; a < parts[g].length; a += 3)
          for (let b = 0; b < parts[h].length; b += 3)
            if (g !== h || a !== b) distance.push(Math.sqrt(squared(parts[g], a, parts[h], b) + spread));
      }
      first[++pair] = distance.length;
    }
  }
  const same = Float64Array.from(parts, (p) => 3 / p.length);
  return { spacing, first, distance: Float64Array.from(distance), same };
}
