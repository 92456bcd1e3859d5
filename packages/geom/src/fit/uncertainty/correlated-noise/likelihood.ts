import { logGamma } from '../../../math/distributions.js';
import type { Field } from './field.js';
import { type Patches, WHOLE } from './patches.js';
import { logDetAndForm } from './tridiagonal.js';

/**
 * Shares of white noise in a patch's mean that are tried, a factor e apart in their ratio to the correlated noise: from a hundredth of
 * it in a single point to all but a thousandth of it in a patch.
 */
export function whiteShares({ units, size }: Patches): number[] {
  const least = -Math.log((100 * units[0]) / size);
  const steps = Math.ceil(7 - least);
  return Array.from({ length: steps + 1 }, (_, i) => 1 / (1 + Math.exp(-least - ((7 - least) * i) / steps)));
}

/** What the residuals say of one kind of noise: the logarithm of their density, and the noise's scale. */
export interface Evidence {
  readonly logDensity: number;
  /** Variance of a patch's mean, mm², and the degrees of freedom it is known with. */
  readonly variance: number;
  readonly degrees: number;
}

/** One field with one share of white noise. */
export interface Hypothesis {
  /** Undefined: no correlation at all. */
  readonly field: Field | undefined;
  readonly white: number;
  /** By all levels: points in cells, cells in half parts, and so on up to halves in patches; and the patches. */
  readonly together: Evidence;
  /** By the patches alone, and by what lies inside them alone (undefined where nothing does). */
  readonly patches: Evidence;
  readonly inside: Evidence | undefined;
}

/** A field's hypotheses, one for each share of white noise; for no field a single one. */
export function hypothesesOf(
  patches: Patches,
  residual: Float64Array,
  field: Field | undefined,
  whites: readonly number[],
): Hypothesis[] {
  const nu = residual.length;
  if (!field) {
    let form = 0;
    for (const z of residual) form += z * z;
    return [hypothesis(patches, undefined, 1, nu, 0, form)];
  }
  const out = new Float64Array(2);
  return whites.map((white) => {
    logDetAndForm(field.contrasts, 1 - white, out);
    return hypothesis(patches, field, white, nu, out[0], out[1]);
  });
}

/**
 * Restricted likelihood of the patch means (Patterson & Thompson, Biometrika 58 (1971)), and of the mean squares at the levels
 * inside the patches as χ² with as many degrees of freedom as the field has independent pieces; the scale is integrated out
 * under the prior 1/σ².
 */
function hypothesis(
  { size, units, squares }: Patches,
  field: Field | undefined,
  white: number,
  nu: number,
  logDet: number,
  form: number,
): Hypothesis {
  const n = units[0];
  let density = 0;
  let insideForm = 0;
  let insideDegrees = 0;
  for (let l = 0; l < WHOLE; l++) {
    const pieces = units[l] - units[l + 1];
    if (pieces < FEWEST * units[l + 1]) continue;
    const seen = (squares[l] - squares[l + 1]) / pieces;
    if (!(seen > 0)) continue;
    // One-way analysis of variance: what a unit's mean has, and loses to the mean of the unit it lies in.
    const fromWhite = (white * n) / size;
    const fromField = field
      ? ((1 - white) / field.alike[WHOLE]) * Math.max(0, field.alike[l] - field.alike[l + 1]) * (n / pieces)
      : 0;
    const expected = fromWhite + fromField;
    const whiteDegrees = 1 / (1 / pieces + 1 / MOST_DEGREES);
    const fieldDegrees = field ? 1 / (1 / whiteDegrees + 1 / field.details) : 1;
    const degrees =
      (expected * expected) / ((fromWhite * fromWhite) / whiteDegrees + (fromField * fromField) / fieldDegrees);
    density += (degrees / 2) * Math.log(((degrees / 2) * seen) / expected) - logGamma(degrees / 2);
    insideForm += (degrees * seen) / expected;
    insideDegrees += degrees;
  }
  return {
    field,
    white,
    together: evidence(density - logDet / 2, form + insideForm, nu + insideDegrees),
    patches: evidence(-logDet / 2, form, nu),
    inside: insideDegrees > 0 ? evidence(density, insideForm, insideDegrees) : undefined,
  };
}

/** No level is told better than with so many degrees of freedom, 6 % of its mean square: no kernel is quite true. */
const MOST_DEGREES = 512;
/** Levels with fewer pieces than this share of the units they make up say nothing. */
const FEWEST = 0.2;

const evidence = (logDensity: number, form: number, degrees: number): Evidence => ({
  logDensity: logDensity + logGamma(degrees / 2) - (degrees / 2) * Math.log(form / 2),
  variance: form / degrees,
  degrees,
});

/** ln Σ exp */
export function logSum(logs: readonly number[]): number {
  let most = -Infinity;
  for (const l of logs) if (l > most) most = l;
  if (most === -Infinity) return most;
  let sum = 0;
  for (const l of logs) sum += Math.exp(l - most);
  return most + Math.log(sum);
}
