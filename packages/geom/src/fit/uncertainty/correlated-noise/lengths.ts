import { power } from '../../../math/power.js';
import { KERNELS } from '../../../noise/kernel-table.js';
import type { Contrast } from './contrast.js';
import { fieldOf, type Separations } from './field.js';
import { type Hypothesis, hypothesesOf, logSum } from './likelihood.js';
import type { Patches } from './patches.js';

/** Lengths tried at first, evenly spaced in their logarithm from a sixth of a patch to {@link LONGEST} of the span. */
const LENGTHS = 5;
const SHORTEST = 0.16;
const LONGEST = 0.3;
/**
 * Between two lengths another is tried where the logarithm of the chance changes or bends by more than this, and matters beside the
 * likeliest.
 */
const MOST_CHANGE = 2;
const MOST_BEND = 0.25;
const MATTERS = 0.01;
const MOST_REFINEMENTS = 12;

/** A length with its hypotheses and their joint chance. */
export interface Tried {
  readonly length: number;
  readonly hypotheses: readonly Hypothesis[];
  /** Logarithm, up to a constant. */
  readonly chance: number;
}

/** By kernel: enough lengths, ascending, to tell how the chance runs over them. */
export function tryLengths(
  patches: Patches,
  reduced: Contrast,
  apart: Separations,
  whites: readonly number[],
): Tried[][] {
  const shortest = SHORTEST * apart.spacing;
  const longest = Math.max(LONGEST * patches.span, 2 * shortest);
  const attempt = (family: number, length: number): Tried => {
    const field = fieldOf(patches, reduced, apart, KERNELS[family], length);
    const hypotheses = hypothesesOf(patches, reduced.residual, field, whites);
    return { length, hypotheses, chance: logSum(hypotheses.map(({ together }) => together.logDensity)) };
  };
  const tried = KERNELS.map((_, family) =>
    Array.from({ length: LENGTHS }, (_, a) => attempt(family, shortest * power(longest / shortest, a / (LENGTHS - 1)))),
  );
  for (let k = 0; k < MOST_REFINEMENTS; k++) {
    const gap = coarsest(tried);
    if (!gap) break;
    const { family, after } = gap;
    const length = Math.sqrt(tried[family][after].length * tried[family][after + 1].length);
    tried[family].splice(after + 1, 0, attempt(family, length));
  }
  return tried;
}

/**
 * The gap, among the lengths tried, that hides most of how the chance runs: it changes over the gap, or bends as much there as it does
 * over a peak between the two, by what the gaps on either side rise and fall.
 */
function coarsest(tried: readonly (readonly Tried[])[]): { family: number; after: number } | undefined {
  let most = -Infinity;
  for (const family of tried) for (const { chance } of family) if (chance > most) most = chance;
  // Differences below what matters do not count.
  const least = most + Math.log(MATTERS);
  let gap: { family: number; after: number } | undefined;
  let widest = 1;
  tried.forEach((lengths, family) => {
    const rise = (a: number): number =>
      a >= 0 && a + 1 < lengths.length
        ? (lengths[a + 1].chance - lengths[a].chance) / Math.log(lengths[a + 1].length / lengths[a].length)
        : 0;
    for (let after = 0; after + 1 < lengths.length; after++) {
      const width = Math.log(lengths[after + 1].length / lengths[after].length);
      const [high, low] = [lengths[after].chance, lengths[after + 1].chance].sort((a, b) => b - a);
      const bend = (Math.abs(rise(after - 1) - rise(after + 1)) * width) / 8;
      const top = high + bend - least;
      if (top <= 0) continue;
      const change = Math.max(high, least) - Math.max(low, least);
      const hidden = Math.max(change / MOST_CHANGE, Math.min(bend, top) / MOST_BEND);
      if (hidden > widest) {
        widest = hidden;
        gap = { family, after };
      }
    }
  });
  return gap;
}
