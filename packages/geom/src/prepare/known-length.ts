import { FettleError } from '../error.js';
import { distance, type Vec3 } from '../math/vec3.js';
import { lengthText } from '../scan/number-text.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';

export interface KnownLength {
  /** Two places on the scan, in its axes: centers of gauge balls, say. */
  readonly between: readonly [Vec3, Vec3];
  /** How far apart they are in truth, mm. */
  readonly is: number;
  /** Scales the scan. Default false: the length is a check, and the scan stays as it is. */
  readonly apply?: boolean;
}

export interface LengthCheck {
  /** Scaled if that was asked for, else the scan given. About the origin of its axes. */
  readonly scan: Scan;
  /** What the scan's lengths are to be multiplied with. */
  readonly factor: number;
  /** As the scan has it, mm. */
  readonly measured: number;
  readonly is: number;
  readonly applied: boolean;
}

/**
 * Holds a length that is known against the scan, and on request scales the scan by it. A factor of 25.4 or 1000 tells of
 * mistaken units; one near 1 of the scanner's calibration, or just of the uncertainty of the two places: so it is a check unless asked for.
 *
 * @throws FettleError `known-length` if the two places are one, or the length is not above 0
 */
export function scaleByKnownLength(scan: Scan, { between: [a, b], is, apply = false }: KnownLength): LengthCheck {
  const measured = distance(a, b);
  const factor = is / measured;
  if (!(is > 0 && factor > 0 && factor < Infinity))
    throw new FettleError(
      'known-length',
      `${scanName(scan)}: a length of ${is} mm cannot be between places ${measured} mm apart. Give two places and a length above 0.`,
    );
  return { scan: apply ? scaled(scan, factor) : scan, factor, measured, is, applied: apply };
}

const scaled = (scan: Scan, factor: number): Scan =>
  Object.freeze({ ...scan, positions: scan.positions.map((c) => c * factor) });

/** `100.2 mm on the scan is 100 mm in truth: factor 0.998004, not applied` */
export const lengthCheckInWords = ({ measured, is, factor, applied }: LengthCheck): string =>
  `${lengthText(measured)} on the scan is known to be ${lengthText(is)}: ` +
  (applied
    ? `all lengths were multiplied by ${Number(factor.toPrecision(7))}`
    : `a factor of ${Number(factor.toPrecision(7))}, checked and not applied`);
