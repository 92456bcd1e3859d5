import type { Warning } from '../../error.js';
import type { Uncertainty } from '../../feature/uncertainty.js';
import type { Vec3 } from '../../math/vec3.js';
import { lengthText } from '../../text/number-text.js';
import type { FitForUncertainty } from '../uncertainty/correlated-noise/fit-for-uncertainty.js';

export const withWarning = (uncertainty: Uncertainty, warning: Warning): Uncertainty => ({
  ...uncertainty,
  warnings: [...(uncertainty.warnings ?? []), warning],
});

/** Of the i-th point of a fit. */
export const placeOf = ({ positions, used }: FitForUncertainty, i: number): Vec3 => {
  const p = 3 * (used ? used[i] : i);
  return [positions[p], positions[p + 1], positions[p + 2]];
};

export const told = (mm: number): string => lengthText(Number(mm.toPrecision(2)));
