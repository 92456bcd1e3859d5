import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import type { ScannerAccuracy, Uncertainty } from '../../feature/uncertainty.js';
import type { Vec3 } from '../../math/vec3.js';
import type { ScanNoise } from '../../noise/scan-noise.js';
import type { Fit, KnownComparison } from '../fit.js';
import { type Seen, seenFrom } from '../solve/coverage.js';
import { fillResiduals, sumNormalEquations } from '../solve/normal-equations.js';
import type { Placement } from '../solve/placement.js';
import type { PointSet } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';
import type { Residuals } from '../solve/solved.js';
import { cutOff, withDigits } from './digits.js';
import { type Entered, resultUncertainty } from './result-uncertainty.js';

/** A fit that is done, before it speaks of itself. */
export interface Fitted<F extends Feature> {
  readonly shape: Shape<F>;
  /** The points used. */
  readonly set: PointSet;
  /** Their centroid. */
  readonly origin: Vec3;
  readonly placement: Placement;
  readonly free: readonly number[];
  readonly entered: readonly Entered[];
  readonly rejected: Uint32Array;
  readonly iterations: number;
  readonly converged: boolean;
  readonly scanner?: ScannerAccuracy;
  readonly noise?: ScanNoise;
  /** Where the last pass has them already. */
  readonly residuals?: Residuals;
}

/** What the points seen by the fitted feature say of it. */
export interface Evidence<F extends Feature> extends Fitted<F> {
  readonly residuals: Residuals;
  readonly seen: Seen;
  /** JᵀJ of all parameters, all points. */
  readonly information: Float64Array;
  readonly rms: number;
  uncertainty(): Uncertainty;
}

/** Look at a fit that is done. */
export function evidenceOf<F extends Feature>(fitted: Fitted<F>): Evidence<F> {
  const { shape, set, origin, placement } = fitted;
  const { count } = set;
  const residuals = fitted.residuals?.values ?? new Float64Array(count);
  const sums = fitted.residuals?.sums ?? fillResiduals(shape, placement, origin, set, shape.isSigned, residuals);
  const seen = seenFrom(set, placement, origin);
  const { normal } = sumNormalEquations(shape, placement, origin, seen.set);
  const information = normal.map((a) => (a * count) / seen.count);
  let reach = 0;
  for (let i = 0; i < seen.count; i++) {
    reach = Math.max(reach, shape.lever(seen.x[i], seen.y[i], seen.z[i], placement));
  }
  const uncertainty = once(() => {
    const ofNoise = resultUncertainty({ ...fitted, residuals, information, reach });
    return Object.freeze(withDigits(ofNoise, cutOff(shape, set, placement, origin), fitted.free));
  });
  return {
    ...fitted,
    residuals: { values: residuals, sums },
    seen,
    information,
    rms: Math.sqrt(sums.squares / count),
    uncertainty,
  };
}

/** What a fit by another criterion than least squares says besides. */
export type ByExtremes = Pick<Fit<Feature>, 'criterion' | 'form' | 'contacts' | 'trim' | 'trimmed' | 'optimality'>;

/** What a caller gets. */
export function fitResult<F extends Feature>(
  evidence: Evidence<F>,
  warnings: readonly Warning[],
  known?: readonly KnownComparison[],
  extremes?: ByExtremes,
): Fit<F> {
  const { shape, set, origin, placement, rejected, iterations, converged, residuals, rms, uncertainty, seen } =
    evidence;
  const { low, high } = residuals.sums;
  const used = once(() => set.index ?? Uint32Array.from({ length: set.count }, (_, i) => i));
  const max = Math.max(Math.abs(low), Math.abs(high));
  return Object.freeze({
    feature: Object.freeze(shape.featureOf(placement, origin)),
    criterion: 'least-squares',
    count: set.count,
    get used() {
      return used();
    },
    residuals: residuals.values,
    rms,
    max,
    form: shape.isSigned ? high - low : 2 * max,
    rejected,
    iterations,
    converged,
    get uncertainty() {
      return uncertainty();
    },
    coverage: Object.freeze(shape.coverage(seen)),
    ...(known && { known: Object.freeze(known) }),
    warnings: Object.freeze(warnings),
    ...extremes,
  } satisfies Fit<F>);
}

/** Worked out when first asked for. */
function once<T>(work: () => T): () => T {
  let made: { readonly value: T } | undefined;
  return () => {
    made ??= { value: work() };
    return made.value;
  };
}
