import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import type { Uncertainty } from '../../feature/uncertainty.js';
import { addScaled, dot, normalize, type Vec3 } from '../../math/vec3.js';
import { lengthText } from '../../text/number-text.js';
import { type StepAcross, stepAlong } from '../solve/coordinate-step.js';
import type { Placement } from '../solve/placement.js';
import type { PointSet } from '../solve/point-set.js';
import type { Shape } from '../solve/shape.js';

/** Digits cut off from all points alike, along a direction in which the points should scatter. */
export interface CutOff extends StepAcross {
  /** Unit length. */
  readonly normal: Vec3;
  /** How far the points scatter along it, root mean square, mm. */
  readonly scatter: number;
}

/** Residuals of noise of half a step and of the rounding's own, s²/12: below, rounding does not average out (Widrow & Kollár, 2008). */
const UNDITHERED = Math.sqrt(1 / 4 + 1 / 12);

/** Whether rounding to steps averages out in the mean of residuals that scatter so far. */
export const isUndithered = ({ step }: StepAcross, scatter: number): boolean => scatter < UNDITHERED * step;

/** Along which directions a plane, a circle or a line may have lost digits; other surfaces cross many steps. */
export function stepsAcross<F extends Feature>(
  { kind, components }: Pick<Shape<F>, 'kind' | 'components'>,
  set: PointSet,
): (placement: Placement) => readonly (StepAcross & { readonly normal: Vec3 })[] {
  if (kind !== 'plane' && kind !== 'line' && !(kind === 'circle' && components === 2)) return () => [];
  const along = stepAlong(set);
  return ({ w }) =>
    (kind === 'line' ? aside(w) : [w]).flatMap((normal) => {
      const step = along(normal);
      return step ? [{ ...step, normal }] : [];
    });
}

/** The two axes a line hardly runs along, square to it. */
function aside(w: Vec3): Vec3[] {
  const axes: readonly Vec3[] = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ];
  return axes
    .toSorted((a, b) => Math.abs(dot(a, w)) - Math.abs(dot(b, w)))
    .slice(0, 2)
    .map((axis) => normalize(addScaled(axis, w, -dot(axis, w))));
}

/** Those digits of points of a fit that were cut off from most of them alike. */
export function cutOff<F extends Feature>(
  shape: Pick<Shape<F>, 'kind' | 'components'>,
  set: PointSet,
  placement: Placement,
  origin: Vec3,
): CutOff[] {
  return stepsAcross(
    shape,
    set,
  )(placement).flatMap((across) => {
    const scatter = scatterAlong(set, across.normal, dot(placement.at, across.normal) + dot(origin, across.normal));
    return across.step === 0 || isUndithered(across, scatter) ? [{ ...across, scatter }] : [];
  });
}

function scatterAlong({ xyz, count }: PointSet, [x, y, z]: Vec3, level: number): number {
  let squares = 0;
  for (let p = 0; p < 3 * count; p += 3) squares += (x * xyz[p] + y * xyz[p + 1] + z * xyz[p + 2] - level) ** 2;
  return Math.sqrt(squares / count);
}

/** Standard uncertainties of no more than this share of the feature's extent are rounding. */
const ROUNDING = 1e-12;

/**
 * Adds digits cut off from all points alike: a rectangular error of half a step (JCGM 100, F.2.2.1), of the place along their normal, and
 * of its tilts at the farthest point. Only of free parameters. Where nothing tells the digits, and nothing else the place, that is not known
 * to ± 0 but not at all: no degrees of freedom are left.
 */
export function withDigits(uncertainty: Uncertainty, cut: readonly CutOff[], free: readonly number[]): Uncertainty {
  const { kind, axes, reach } = uncertainty;
  const shifts = SHIFTS[kind];
  if (!shifts) return uncertainty;
  const covariance = uncertainty.covariance.slice();
  const m = Math.round(Math.sqrt(covariance.length));
  if (cut.every(({ step }) => step === 0)) {
    const isTold = shifts.places.some(
      ({ shift }) => !free.includes(shift) || covariance[shift * (m + 1)] > (ROUNDING * reach) ** 2,
    );
    const isDrawn = kind === 'circle' || cut.length < shifts.places.length;
    return isTold || isDrawn ? uncertainty : { ...uncertainty, degreesOfFreedom: 0 };
  }
  for (const { step, normal } of cut) {
    const variance = (step / 2) ** 2 / 3;
    for (const { shift, axis: a } of shifts.places)
      for (const { shift: other, axis: b } of shifts.places)
        if (free.includes(shift) && free.includes(other))
          covariance[shift * m + other] += variance * dot(normal, axes[a]) * dot(normal, axes[b]);
    for (const size of shifts.sizes ?? []) covariance[size * (m + 1)] += 2 * variance;
    shifts.tilts.forEach((tilt, k) => {
      const share = shifts.places.length === 2 ? dot(normal, axes[shifts.places[k].axis]) ** 2 : 1;
      if (free.includes(tilt) && reach > 0) covariance[tilt * (m + 1)] += (share * variance) / (reach * reach);
    });
  }
  return { ...uncertainty, covariance };
}

/**
 * Of a slot along an axis each side has lost its own digits: its width, and the length that follows it, are off by those of both.
 */
interface Shifts {
  readonly places: readonly { readonly shift: number; readonly axis: 0 | 1 | 2 }[];
  /** Of two places: toward the axis of each. */
  readonly tilts: readonly number[];
  readonly sizes?: readonly number[];
}

const SHIFTS: Partial<Record<Uncertainty['kind'], Shifts>> = {
  plane: { places: [{ shift: 0, axis: 2 }], tilts: [1, 2] },
  circle: { places: [{ shift: 2, axis: 2 }], tilts: [3, 4] },
  slot: { places: [{ shift: 1, axis: 1 }], tilts: [2], sizes: [3, 4] },
  line: {
    places: [
      { shift: 0, axis: 0 },
      { shift: 1, axis: 1 },
    ],
    tilts: [2, 3],
  },
};

/** Digits that cut off more than the noise, and from most points alike. */
export function fewDigits(kind: Feature['kind'], cut: readonly CutOff[], isAccuracyKnown: boolean): Warning[] {
  const told = cut.filter(({ step }) => step > 0);
  if (told.length > 0) {
    const { step, scatter } = told.reduce((a, b) => (b.step > a.step ? b : a));
    const names = told
      .map(({ axis }) => axis)
      .sort()
      .join(' and ');
    const others = ['x', 'y', 'z'].filter((name) => !told.some(({ axis }) => axis === name)).join(' and ');
    return [
      {
        code: 'few-digits',
        message:
          `The points' ${names} come in steps of ${lengthText(step)}, more than they scatter about the ${kind} (${lengthText(scatter)} rms). ` +
          `As it runs along ${others}, up to half a step may have been cut off from all of them alike: that much is in the ±. Write the ` +
          'points with more digits.',
      },
    ];
  }
  // What is drawn in a plane shares one coordinate; a plane, or a line that shares two, has nothing left to tell its noise by.
  if (cut.length < (kind === 'line' ? 2 : 1) || kind === 'circle' || isAccuracyKnown) return [];
  return [
    {
      code: 'few-digits',
      message:
        `All points have the same ${cut
          .map(({ axis }) => axis)
          .sort()
          .join(' and ')}: measured points scatter, and these tell neither their ` +
        `noise nor the digits that were cut off. The ± of the ${kind} is not known. Write the points with more digits, or state the ` +
        'accuracy of the scanner.',
    },
  ];
}
