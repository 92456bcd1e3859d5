import { FettleError } from '../error.js';
import { distance, type Vec3 } from '../math/vec3.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { lengthText } from '../text/number-text.js';

export interface KnownLength {
  /** Two places on the scan, in its axes: centers of gauge balls, say. */
  readonly between: readonly [Vec3, Vec3];
  /** How far apart they are in truth, mm. */
  readonly is: number;
  /** ± mm of that, as a person writes it on the drawing: expanded, coverage factor 2. Absent: it is taken as it stands. */
  readonly uncertainty?: number;
  /** Standard uncertainty of how far apart the two places are on the scan, its scale left aside, mm. Default 0. */
  readonly measuredStandard?: number;
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
  /** Standard uncertainty of the factor, as a share of it: once applied, the error of scale of all that is measured on the scan. */
  readonly standard: number;
}

/**
 * Holds a length that is known against the scan, and on request scales the scan by it. A factor of 25.4 or 1000 tells of
 * mistaken units; one near 1 of the scanner's calibration, or just of the uncertainty of the two places: so it is a check unless asked for.
 * A scan that was scaled has the error of scale of the known length, not that of the scanner any more.
 *
 * @throws FettleError `known-length` if the two places are one, the length is not above 0, or the scan is to be scaled by places whose
 * distance has no finite uncertainty
 */
export function scaleByKnownLength(scan: Scan, known: KnownLength): LengthCheck {
  const { is, apply = false, uncertainty = 0, measuredStandard = 0 } = known;
  const [a, b] = known.between;
  const measured = distance(a, b);
  const factor = is / measured;
  if (!(is > 0 && factor > 0 && factor < Infinity))
    throw new FettleError(
      'known-length',
      `${scanName(scan)}: a length of ${is} mm cannot be between places ${measured} mm apart. Give two places and a length above 0.`,
    );
  if (apply && !Number.isFinite(measuredStandard))
    throw new FettleError(
      'known-length',
      `${scanName(scan)}: how far the two places are apart on the scan is not known well enough to scale it by. Fit them to more points.`,
    );
  const standard = Math.hypot(uncertainty / 2 / is, measuredStandard / measured);
  return { scan: apply ? scaled(scan, factor) : scan, factor, measured, is, applied: apply, standard };
}

const scaled = (scan: Scan, factor: number): Scan =>
  Object.freeze({ ...scan, positions: scan.positions.map((c) => c * factor) });

/** A share this small is rounding. */
const ROUNDING = 1e-12;

/** `100.2 mm on the scan is known to be 100 mm: a factor of 0.998004 ± 0.00021, checked and not applied` */
export function lengthCheckInWords({ measured, is, factor, applied, standard }: LengthCheck): string {
  const doubt = 2 * factor * standard;
  const told = `${Number(factor.toPrecision(7))}${standard > ROUNDING && Number.isFinite(doubt) ? ` ± ${Number(doubt.toPrecision(2))}` : ''}`;
  const lengths = `${lengthText(measured)} on the scan is known to be ${lengthText(is)}`;
  return applied
    ? `${lengths}: all lengths were multiplied by ${told}`
    : `${lengths}: a factor of ${told}, checked and not applied`;
}
