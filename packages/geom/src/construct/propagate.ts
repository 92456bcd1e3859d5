import type { Feature } from '../feature/feature.js';
import { ownCovariance } from '../feature/scale-error.js';
import { moved } from '../feature/small-moves.js';
import type { NumberUncertainty, ScaleError, Uncertainty } from '../feature/uncertainty.js';
import type { Frame } from '../math/frame.js';
import { type Chart, chartOf, type FeatureChart } from './chart.js';
import { scalesOf, underScale } from './under-scale.js';

/** A feature that stands on its own points: what uncertainty comes from. */
export interface Estimate<F extends Feature = Feature> {
  readonly feature: F;
  readonly uncertainty: Uncertainty;
}

/**
 * A value with what it was made from. Two values made from the same fit share that root, so whatever is made of both counts its
 * uncertainty once and with its sign: the distance of a hole from a frame that is set on the same face does not count the face
 * twice.
 */
export interface Uncertain<T> {
  readonly value: T;
  /** The independent estimates everything goes back to, by id. */
  readonly roots: ReadonlyMap<string, Estimate>;
  /** The value when the roots are these features instead. `done` keeps what one evaluation has already made. */
  evaluate(roots: ReadonlyMap<string, Feature>, done?: Map<unknown, unknown>): T;
}

type UncertaintyOf<T> = T extends number ? NumberUncertainty : Uncertainty;

/** A fit as the root of what is made from it. The same id is the same fit. */
export function rootOf<F extends Feature>(id: string, { feature, uncertainty }: Estimate<F>): Uncertain<F> {
  return {
    value: feature,
    roots: new Map([[id, { feature, uncertainty }]]),
    evaluate: (roots) => (roots.get(id) ?? feature) as F,
  };
}

/** A value that is certain: a number of the plan, a direction taken as given. */
export const certain = <T>(value: T): Uncertain<T> => ({ value, roots: new Map(), evaluate: () => value });

/** What `make` makes of uncertain values, with all their roots. */
export function derive<A extends readonly unknown[], T>(
  inputs: { readonly [K in keyof A]: Uncertain<A[K]> },
  make: (...values: A) => T,
): Uncertain<T> {
  const all = inputs as readonly Uncertain<unknown>[];
  const derived: Uncertain<T> = {
    value: make(...(all.map(({ value }) => value) as unknown as A)),
    roots: new Map(all.flatMap(({ roots }) => [...roots])),
    evaluate(roots, done = new Map()) {
      if (!done.has(derived))
        done.set(derived, make(...(all.map((input) => input.evaluate(roots, done)) as unknown as A)));
      return done.get(derived) as T;
    },
  };
  return derived;
}

/**
 * Uncertainty of a number, feature or frame to first order: C = Σ J·Cᵣ·Jᵀ over its roots (JCGM 100, 5.1.2; JCGM 102 for
 * vectors). J by central differences with steps of one standard uncertainty, so that what bends within it is averaged over.
 * A feature's parameters are told about its own point, center or apex. The error of the scan's scale moves all roots at once, with its
 * sign: it is counted about that point, about a frame's origin, and of a number about the origin of the scan's axes.
 *
 * @throws FettleError `propagate-value` for a value that is none of these, and whatever the construction throws
 */
export function uncertaintyOf<T extends number | Feature | Frame>(of: Uncertain<T>): UncertaintyOf<T> {
  const chart = chartOf(of.value);
  const m = chart.size;
  const covariance = new Float64Array(m * m);
  const random = new Float64Array(m * m);
  const spread: { root: string; variance: number }[] = [];
  const lost = new Float64Array(m);
  const at = new Map([...of.roots].map(([id, { feature }]) => [id, feature]));
  let isBlind = false;
  for (const [id, { feature, uncertainty }] of of.roots) {
    const { covariance: whole, degreesOfFreedom } = uncertainty;
    const mine = ownCovariance(uncertainty);
    const { random: part = mine } = uncertainty;
    const k = Math.round(Math.sqrt(whole.length));
    const jacobian = new Float64Array(m * k);
    const delta = new Float64Array(k);
    const isAsked = degreesOfFreedom === 0;
    for (let p = 0; p < k; p++) {
      const standard = Math.sqrt(whole[p * (k + 1)]);
      if (!(standard > 0) && !isAsked) continue;
      const step = Math.min(Math.max(standard, LEAST_STEP), MOST_STEP * Math.max(1, uncertainty.reach));
      const to = [-step, step].map((s) => {
        delta.fill(0);
        delta[p] = s;
        return chart.coordinates(of.evaluate(new Map(at).set(id, moved(feature, uncertainty, delta))));
      });
      for (let i = 0; i < m; i++) {
        jacobian[i * k + p] = (to[1][i] - to[0][i]) / (2 * step);
        if (isAsked && Math.abs(jacobian[i * k + p]) > LEAST_SLOPE) isBlind = true;
      }
    }
    addForm(covariance, jacobian, mine, m, k);
    const own = new Float64Array(m * m);
    addForm(own, jacobian, part, m, k);
    for (let i = 0; i < m; i++) {
      if (degreesOfFreedom > 0) lost[i] += own[i * (m + 1)] ** 2 / degreesOfFreedom;
      for (let j = 0; j < m; j++) random[i * m + j] += own[i * m + j];
    }
    if (m === 1) {
      const variance = new Float64Array(1);
      addForm(variance, jacobian, mine, 1, k);
      spread.push({ root: id, variance: variance[0] });
    }
  }
  const scales = scaleErrors(of, chart);
  for (const { standard, growth } of scales) {
    addForm(covariance, growth, Float64Array.of(standard ** 2), m, 1);
    if (m === 1) spread.push({ root: SCALE, variance: (standard * growth[0]) ** 2 });
  }
  let degrees = Infinity;
  for (let i = 0; i < m; i++) if (lost[i] > 0) degrees = Math.min(degrees, random[i * (m + 1)] ** 2 / lost[i]);
  const degreesOfFreedom = isBlind ? 0 : degrees;
  if (typeof of.value !== 'number') {
    const { kind, base } = chart as FeatureChart;
    const reach = Math.max(0, ...[...of.roots.values()].map(({ uncertainty }) => uncertainty.reach));
    const scale = scales.length === 1 ? { scale: scales[0] } : {};
    return { kind, ...base, covariance, random, degreesOfFreedom, reach, ...scale } as unknown as UncertaintyOf<T>;
  }
  return {
    standard: Math.sqrt(covariance[0]),
    random: Math.sqrt(random[0]),
    degreesOfFreedom,
    sources: spread
      .sort((a, b) => b.variance - a.variance)
      .map(({ root, variance }) => ({ root, standard: Math.sqrt(variance) })),
  } as unknown as UncertaintyOf<T>;
}

/** What the error of the scan's scale is called among the sources of a number. */
export const SCALE = 'scale of the scan';
/** Share by which the scan is made larger and smaller to see what grows: most lengths are linear in it. */
const SCALE_STEP = 1e-4;

/** How the coordinates of a value grow with each scale its roots have. */
function scaleErrors<T extends number | Feature | Frame>(of: Uncertain<T>, chart: Chart): readonly ScaleError[] {
  return scalesOf(of.roots.values()).map((standard) => {
    const [less, more] = [-SCALE_STEP, SCALE_STEP].map((share) =>
      chart.coordinates(of.evaluate(underScale(of.roots, standard, chart.center, share))),
    );
    return { standard, growth: Float64Array.from(more, (c, i) => (c - less[i]) / (2 * SCALE_STEP)) };
  });
}

/** mm and radians: steps smaller than this drown in rounding. */
const LEAST_STEP = 1e-6;
/** Larger ones, in units of the feature's reach, no longer tell a slope. */
const MOST_STEP = 0.05;
const LEAST_SLOPE = 1e-6;

/** `f` of features that know nothing of each other, with its uncertainty. For values made in several steps: {@link derive}. */
export function propagate<A extends readonly Feature[], T extends number | Feature | Frame>(
  f: (...features: A) => T,
  inputs: { readonly [K in keyof A]: A[K] extends Feature ? Estimate<A[K]> : never },
): { readonly value: T; readonly uncertainty: UncertaintyOf<T> } {
  const roots = (inputs as readonly Estimate[]).map((input, i) => rootOf(String(i), input));
  const derived = derive(roots, (...features) => f(...(features as unknown as A)));
  return { value: derived.value, uncertainty: uncertaintyOf(derived) };
}

/** to ← to + J·C·Jᵀ, J m×k. */
function addForm(to: Float64Array, jacobian: Float64Array, matrix: Float64Array, m: number, k: number): void {
  for (let i = 0; i < m; i++) {
    for (let j = 0; j < m; j++) {
      let sum = 0;
      for (let p = 0; p < k; p++)
        for (let q = 0; q < k; q++) sum += jacobian[i * k + p] * matrix[p * k + q] * jacobian[j * k + q];
      to[i * m + j] += sum;
    }
  }
}
