import type { Feature } from '../../feature/feature.js';
import type { Uncertainty } from '../../feature/uncertainty.js';
import { scaledCholesky } from '../../math/scaled-solve.js';
import { dot, type Vec3 } from '../../math/vec3.js';
import { freePart, type Prior } from '../solve/gauss-newton.js';
import type { Placement } from '../solve/placement.js';
import type { Shape } from '../solve/shape.js';
import type { KnownValue } from './known.js';

/** The weight of a square millimetre of residual against one standard uncertainty of a prior, by the fit without priors. */
export interface Unweighed {
  uncertainty(): Uncertainty;
  /** JᵀJ of all parameters. */
  readonly information: Float64Array;
  readonly free: readonly number[];
}

/**
 * Known values as observations beside the points. The points' own weight is not their number: neighbors err together. It is
 * taken from the uncertainty the fit without priors states, σ² = variance / (JᵀJ)⁻¹ of the parameter in question, and the prior gets
 * σ²/u², so that point estimate and prior meet by their uncertainties (JCGM 100, as two results of one quantity).
 */
export function priorsFor<F extends Feature>(
  shape: Shape<F>,
  values: readonly KnownValue[],
  { uncertainty, information, free }: Unweighed,
): Prior[] {
  const m = shape.parameters.length;
  const inverse = scaledCholesky(freePart(information, m, free), free.length)?.inverse();
  return values.flatMap((value) => {
    const places = value.parameters.map((name) => shape.parameters.indexOf(name));
    const perPoint = places.map((p) => {
      const i = free.indexOf(p);
      const naive = inverse ? inverse[i * (free.length + 1)] : 1 / information[p * (m + 1)];
      return uncertainty().covariance[p * (m + 1)] / naive;
    });
    const variance = perPoint.reduce((a, b) => a + b, 0) / perPoint.length;
    const weight = variance / value.standard ** 2;
    return places.map((parameter) => ({
      parameter,
      weight,
      misfit: (placement: Placement) => misfit(shape.parameters[parameter], placement, value.value),
    }));
  });
}

function misfit(parameter: string, { u, v, w, radius, halfAngle }: Placement, known: number | Vec3): number {
  if (typeof known === 'number') return (parameter === 'radius' ? radius : halfAngle) - known;
  const side = dot(w, known) < 0 ? -1 : 1;
  return -side * dot(known, parameter === 'tilt-u' ? u : v);
}
