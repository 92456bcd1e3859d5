import { FettleError } from '../error.js';
import type { Points } from '../scan/scan.js';
import { lengthText, placeText } from '../text/number-text.js';

/** Points to choose from; the name, if there is one, opens the messages. */
export type Choice = Points & { readonly name?: string };

/** The error for a region that holds no point: `by` how far, in mm, the nearest point is off. */
export function emptyRegion(points: Choice, what: string, nearest: number, by: number): FettleError {
  const opening = `${points.name ?? 'points'}: ${what} holds no point`;
  if (by === Infinity) return new FettleError('region-empty', `${opening}: there is none to choose from.`);
  const place = placeText(points.positions.subarray(3 * nearest, 3 * nearest + 3));
  return new FettleError(
    'region-empty',
    `${opening}. The nearest is ${lengthText(by)} outside, at ${place} in scan axes. Move ${what} or make it larger.`,
  );
}
