import { directionOf, planeOf } from '../../../feature/roles.js';
import type { Known, KnownDirection, KnownHalfAngle, KnownRadius } from '../../../fit/fit.js';
import { subtract } from '../../../math/vec3.js';
import type { Context } from '../../step/context.js';
import type { GivenFitStep, GivenSize } from './hand-size.js';

const asRadians = (degrees: number): number => (degrees * Math.PI) / 180;

/** A hand-measured number in the fit's unit: `scale` of its own. */
function given(byHand: GivenSize, scale: number): Known<number> {
  if (typeof byHand === 'number') return byHand * scale;
  const { value, uncertainty, prior = false } = byHand;
  return uncertainty === undefined ? value * scale : { value: value * scale, uncertainty: uncertainty * scale, prior };
}

function knownOf(
  { known, in: frameId }: GivenFitStep,
  context: Context,
): KnownRadius & KnownDirection & KnownHalfAngle {
  if (known === undefined) return {};
  const { radius, diameter, direction, halfAngle } = known;
  const frame = context.frame(frameId).value;
  return {
    ...(radius !== undefined && { radius: given(radius, 1) }),
    ...(diameter !== undefined && { radius: given(diameter, 0.5) }),
    ...(halfAngle !== undefined && { halfAngle: given(halfAngle, asRadians(1)) }),
    ...(direction !== undefined && {
      direction:
        typeof direction === 'string'
          ? directionOf(context.feature(direction).value)
          : subtract(frame.toScan(direction), frame.origin),
    }),
  };
}

/** What a step says, as the fits take it. */
export function optionsOf(step: GivenFitStep, context: Context) {
  const { criterion, reject, robust, trim } = step;
  return {
    ...(criterion !== undefined && { criterion }),
    ...(reject !== undefined && { reject }),
    ...(robust !== undefined && { robust }),
    ...(trim !== undefined && { trim }),
    ...(step.known !== undefined && { known: knownOf(step, context) }),
    ...(step.plane !== undefined && { plane: planeOf(context.feature(step.plane).value) }),
    ...(context.scanner && { scanner: context.scanner }),
    noise: context.noise,
  };
}
