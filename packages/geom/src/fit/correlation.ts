import { power } from '../math/power.js';
import { contrast } from './correlation-contrast.js';
import { fieldOf, separations } from './correlation-field.js';
import { KERNELS } from './correlation-kernel.js';
import { type Hypothesis, hypothesesOf, logSum, whiteShares } from './correlation-likelihood.js';
import { type Component, singleOf } from './correlation-mixture.js';
import type { Patches } from './correlation-patches.js';
import { inverseInformation } from './correlation-solve.js';

/**
 * The random part of a fit's uncertainty, allowing for neighbors that err together.
 *
 * The points are summed over some 64 patches, each cut into parts and cells. The noise is thought of as a field of unknown
 * length, smooth or rough, and white noise of unknown share. Every such hypothesis has a restricted likelihood: the fit has taken
 * the long waves out of the residuals, and the contrasts it left are judged by the covariance that is left to them. Under each
 * hypothesis the parameters' error is Student's t; what is stated is the mixture of all, by their chances. That carries how badly
 * length, scale and share are known: a point estimate of them makes intervals too short (Berger, De Oliveira & Sansó, JASA 96
 * (2001) 1361, on restricted likelihood and priors for correlated data).
 *
 * Tried, on the published simulation of a plane (REML: restricted maximum likelihood; correlation none, 1/40, 1/20, 1/10 of the
 * side; intervals that claim 95 %):
 *
 * | method                                                          | covers, %                                        |
 * |-----------------------------------------------------------------|--------------------------------------------------|
 * | s·√(JᵀJ)⁻¹                                                      | 95, 37, 19, 10                                   |
 * | residuals summed by patch (sandwich), t by number of patches    | 93, 92, 89, 84                                   |
 * | REML on 400 block means, smooth kernel, normal quantiles        | -, 95, 91, 90                                    |
 * | mixture, 100 patches, smooth kernel alone                       | 98, 95, 95, 94; but 75 on a 90° arc, rough noise  |
 * | the same, smooth and rough                                      | 98, 97, 96, 95; 99 between lengths 1/28 and 1/14 |
 * | the same under Jeffreys' prior (by the spectra)                 | 100, -, -, -; 1.5 to 2 times too wide            |
 * | 64 patches, smooth and rough, with the levels inside them       | 97, 95, 96, 96                                   |
 * | the same, and no correlation as a hypothesis of its own         | 96, 97, 97, 96; 96 to 98 between                 |
 * | the same, five levels for three, rough noise a tenth as likely: this | 96, 96, 95, -; 95 at 1/28                   |
 *
 * A third kernel between the two (Matérn 3/2) brings noise of that kind on a 90° arc at 1/10 from 88 to 95 %, and smooth noise at
 * 1/20 from 95 to 98 %: left out. Lengths up to a quarter of the span instead of 0.3: 92 at 1/10. One chance in ten instead of even that
 * what lies inside the patches is noise of another kind: 98 at 1/40. The benchmark `coverage` prints the whole table.
 */

/** Covariance of a fit's parameters by the noise in its own residuals, and how well that noise is known. */
export interface RandomPart {
  /** m×m, row-major. */
  readonly covariance: Float64Array;
  readonly degreesOfFreedom: number;
  /** Distance over which neighbors err together, mm: median of what the residuals allow. Zero: none to be seen. */
  readonly correlationLength: number;
  /** The distance of which the residuals say that it is longer with a chance of one in three, mm. */
  readonly perhapsLength: number;
}

/** Lengths tried at first, evenly spaced in their logarithm from a fifth of a patch to {@link LONGEST} of the span. */
const LENGTHS = 8;
const SHORTEST = 0.2;
const LONGEST = 0.3;
/** Between two lengths whose chances differ by more than this factor another is tried, where either matters. */
const STEEP = Math.E;
const MATTERS = 0.02;
const MOST_REFINEMENTS = 8;
/** Hypotheses of less chance than this, next to the likeliest, are left out. */
const NEGLIGIBLE = 1e-3;
/** White noise of so large a share in a patch's mean that the rest is no correlation to speak of. */
const ALL_WHITE = 0.9;

/** A length with its hypotheses and their joint chance. */
interface Tried {
  readonly length: number;
  readonly hypotheses: readonly Hypothesis[];
  /** Logarithm, up to a constant. */
  readonly chance: number;
}

export function randomPart(patches: Patches): RandomPart {
  const { parameters: m, size, units } = patches;
  const reduced = contrast(patches);
  const { free, residual } = reduced;
  const redundancy = units[0] - free.length;
  if (redundancy < 1 || free.length === 0)
    return { covariance: new Float64Array(m * m), degreesOfFreedom: 0, correlationLength: 0, perhapsLength: 0 };
  const white = inverseInformation(patches.information, m).map((x) => (x * units[0]) / size);
  if (residual.length < 1) {
    // The points stand in hardly more places than the fit has parameters: what they say of noise is little, and may be common
    // to all that stand together.
    const variance = patches.squares[0] / redundancy;
    return { covariance: white.map((x) => x * variance), degreesOfFreedom: 1, correlationLength: 0, perhapsLength: 0 };
  }
  const whites = whiteShares(patches);
  const none = hypothesesOf(patches, residual, undefined, whites);
  if (none[0].patches.variance === 0)
    return {
      covariance: new Float64Array(m * m),
      degreesOfFreedom: residual.length,
      correlationLength: 0,
      perhapsLength: 0,
    };

  const apart = separations(patches);
  const shortest = SHORTEST * apart.spacing;
  const longest = Math.max(LONGEST * patches.span, 2 * shortest);
  const attempt = (family: number, length: number): Tried => {
    const hypotheses = hypothesesOf(
      patches,
      residual,
      fieldOf(patches, reduced, apart, KERNELS[family], length),
      whites,
    );
    return { length, hypotheses, chance: logSum(hypotheses.map(({ together }) => together.logDensity)) };
  };
  const tried = KERNELS.map((_, family) =>
    Array.from({ length: LENGTHS }, (_, a) => attempt(family, shortest * power(longest / shortest, a / (LENGTHS - 1)))),
  );
  for (let k = 0; k < MOST_REFINEMENTS; k++) {
    const gap = steepest(tried);
    if (!gap) break;
    const { family, after } = gap;
    const length = Math.sqrt(tried[family][after].length * tried[family][after + 1].length);
    tried[family].splice(after + 1, 0, attempt(family, length));
  }

  const weighed = weigh(patches, tried, none[0]);
  const components = weighed.map(({ weight, hypothesis, evidence }): Component => {
    const { field, white: share } = hypothesis;
    const { variance, degrees } = evidence;
    const covariance = white.map((w, e) => variance * (share * w + (field ? (1 - share) * field.covariance[e] : 0)));
    return { weight, covariance, degrees };
  });
  return {
    ...singleOf(components, m, free),
    correlationLength: lengthAt(weighed, 0.5),
    perhapsLength: lengthAt(weighed, 2 / 3),
  };
}

/** The gap, among the lengths tried, over which the chance changes too much next to where it is great. */
function steepest(tried: readonly (readonly Tried[])[]): { family: number; after: number } | undefined {
  let most = -Infinity;
  for (const family of tried) for (const { chance } of family) if (chance > most) most = chance;
  let gap: { family: number; after: number } | undefined;
  let widest = Math.log(STEEP);
  tried.forEach((lengths, family) => {
    for (let after = 0; after + 1 < lengths.length; after++) {
      const [a, b] = [lengths[after].chance, lengths[after + 1].chance];
      // Differences below what matters do not count.
      const least = most + Math.log(MATTERS);
      const change = Math.abs(Math.max(a, least) - Math.max(b, least));
      if (change > widest) {
        widest = change;
        gap = { family, after };
      }
    }
  });
  return gap;
}

interface Weighed {
  readonly hypothesis: Hypothesis;
  readonly evidence: Hypothesis['together'];
  weight: number;
}

/**
 * Chance of every hypothesis. Before the residuals speak: no correlation at all and smooth noise are equally likely, rough noise less so
 * (see {@link KERNELS}); lengths of each order of magnitude are equally likely, and orders of magnitude of the ratio of white to
 * correlated noise. With even chance all levels see the same noise, or what lies inside the patches is of another kind, which has a
 * scale of its own and says nothing of theirs.
 */
function weigh({ units, size }: Patches, tried: readonly (readonly Tried[])[], none: Hypothesis): Weighed[] {
  const prior: [Hypothesis, number][] = [[none, 0]];
  const chances = KERNELS.reduce((sum, { chance }) => sum + chance, 1);
  tried.forEach((lengths, family) => {
    const { chance } = KERNELS[family];
    const whole = 2 * Math.log(lengths[lengths.length - 1].length / lengths[0].length);
    lengths.forEach(({ hypotheses }, a) => {
      const below = lengths[Math.max(0, a - 1)].length;
      const above = lengths[Math.min(lengths.length - 1, a + 1)].length;
      const share = Math.log(above / below) / whole / hypotheses.length;
      for (const hypothesis of hypotheses) prior.push([hypothesis, Math.log(chance * share)]);
    });
  });
  const all: { hypothesis: Hypothesis; evidence: Hypothesis['together']; log: number }[] = [];
  const inside = logSum(prior.map(([{ inside }, log]) => log + (inside?.logDensity ?? 0))) - Math.log(chances);
  const scales = Math.log(Math.max(Math.E, units[0] / size));
  for (const [hypothesis, log] of prior) {
    const { together, patches } = hypothesis;
    all.push({ hypothesis, evidence: together, log: log + together.logDensity });
    if (hypothesis.inside)
      all.push({ hypothesis, evidence: patches, log: log + patches.logDensity + inside - Math.log(scales) });
  }
  const most = all.reduce((most, { log }) => Math.max(most, log), -Infinity);
  const kept = all.filter(({ log }) => log > most + Math.log(NEGLIGIBLE));
  const total = logSum(kept.map(({ log }) => log));
  return kept.map(({ hypothesis, evidence, log }) => ({ hypothesis, evidence, weight: Math.exp(log - total) }));
}

/** The length that is not exceeded with the chance `share`. */
function lengthAt(weighed: readonly Weighed[], share: number): number {
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
