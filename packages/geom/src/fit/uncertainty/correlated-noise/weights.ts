import { KERNELS } from '../../../noise/kernel-table.js';
import type { Tried } from './lengths.js';
import { type Evidence, type Hypothesis, logSum } from './likelihood.js';
import type { Patches } from './patches.js';

/** Hypotheses of less chance than this, next to the likeliest, are left out. */
const NEGLIGIBLE = 1e-3;

export interface Weighed {
  readonly hypothesis: Hypothesis;
  readonly evidence: Evidence;
  readonly weight: number;
}

/**
 * Chance of every hypothesis, and the density of the residuals under all of them. Before the residuals speak: no correlation at all and smooth noise are equally likely, rough noise less so
 * (see {@link KERNELS}). The chance of an order of magnitude of the length falls as the root of the number of pieces that the noise
 * has at that length, so as its power −½ along a curve and −1 over a surface: there lies the information that a reference prior goes
 * by (Berger, De Oliveira & Sansó). All orders of magnitude of the ratio of white to correlated noise are equally likely. With even
 * chance all levels see the same noise, or what lies inside the patches is of another kind, which has a scale of its own and says
 * nothing of theirs.
 */
export function weigh(
  { units, size, isCurve }: Patches,
  tried: readonly (readonly Tried[])[],
  none: Hypothesis,
): { readonly weighed: Weighed[]; readonly logDensity: number } {
  const chances = KERNELS.reduce((sum, { chance }) => sum + chance, 1);
  const fall = (length: number): number => (isCurve ? Math.sqrt(length) : length);
  const scales = Math.log(Math.max(Math.E, units[0] / size));
  /** By one kind of evidence: each hypothesis with the logarithm of its chance, unless it has no such evidence. */
  const by = (evidenceOf: (hypothesis: Hypothesis) => Evidence | undefined): Judged[] => {
    const logsOf = (hypotheses: readonly Hypothesis[]): number[] =>
      hypotheses.map((h) => evidenceOf(h)?.logDensity ?? 0);
    const judged: Judged[] = [{ hypothesis: none, evidence: evidenceOf(none), log: logsOf([none])[0] }];
    tried.forEach((lengths, family) => {
      const whole = (1 / fall(lengths[0].length) - 1 / fall(lengths[lengths.length - 1].length)) / (isCurve ? 0.5 : 1);
      const densities = lengths.map(
        ({ length, hypotheses }) => logSum(logsOf(hypotheses)) - Math.log(fall(length) * whole),
      );
      lengths.forEach(({ length, hypotheses }, a) => {
        // Its share of the gap on either side, over which the logarithm of the chance is taken for straight.
        const toward = (b: number): number =>
          lengths[b] ? Math.abs(Math.log(lengths[b].length / length)) * nearHalf(densities[b] - densities[a]) : 0;
        const share = (toward(a - 1) + toward(a + 1)) / (fall(length) * whole) / hypotheses.length;
        const log = Math.log(KERNELS[family].chance * share);
        const logs = logsOf(hypotheses);
        hypotheses.forEach((hypothesis, i) => {
          judged.push({ hypothesis, evidence: evidenceOf(hypothesis), log: log + logs[i] });
        });
      });
    });
    return judged;
  };
  const all = by(({ together }) => together);
  if (none.inside) {
    const inside = logSum(by(({ inside }) => inside).map(({ log }) => log)) - Math.log(chances * scales);
    for (const one of by(({ patches }) => patches)) all.push({ ...one, log: one.log + inside });
  }
  const most = all.reduce((most, { log }) => Math.max(most, log), -Infinity);
  const kept = all.filter(({ log }) => log > most + Math.log(NEGLIGIBLE));
  const total = logSum(kept.map(({ log }) => log));
  const weighed = kept.map(({ hypothesis, evidence, log }) => ({
    hypothesis,
    evidence: evidence ?? hypothesis.together,
    weight: Math.exp(log - total),
  }));
  return { weighed, logDensity: total - Math.log(chances * (none.inside ? 2 : 1)) };
}

interface Judged {
  readonly hypothesis: Hypothesis;
  readonly evidence: Evidence | undefined;
  /** Logarithm of its chance, up to a constant. */
  readonly log: number;
}

/** Integral of exp(change·t) over the near half of a gap, t from 0 to ½. */
const nearHalf = (change: number): number =>
  Math.abs(change) < 1e-6 ? 0.5 : Math.expm1(Math.min(change, MOST_RISE) / 2) / change;
/** No gap hides more than its better end tells: beyond this exp overflows. */
const MOST_RISE = 700;

/** White noise of so large a share in a patch's mean that the rest is no correlation to speak of. */
const ALL_WHITE = 0.9;

/** The length that is not exceeded with the chance `share`. */
export function lengthAt(weighed: readonly Weighed[], share: number): number {
  const lengths = weighed.map(({ hypothesis: { field, white }, weight }) => ({
    length: field && white < ALL_WHITE ? field.length : 0,
    weight,
  }));
  lengths.sort((a, b) => a.length - b.length);
  let below = 0;
  for (const { length, weight } of lengths) {
    below += weight;
    if (below >= share) return length;
  }
  return 0;
}
