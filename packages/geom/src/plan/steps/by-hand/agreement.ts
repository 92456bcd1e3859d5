import type { Uncertain } from '../../../construct/propagate.js';
import type { Warning } from '../../../error.js';
import { beyond, multiplesInWords } from '../../../fit/known/known-comparison.js';
import { expandedNumber } from '../../../fit/uncertainty/expanded.js';
import { lengthText } from '../../../text/number-text.js';
import { doubtOf, plusMinus, times } from '../../step/doubt.js';
import type { Agreement, SheetValue } from '../../step/outcome.js';

/**
 * What was read by hand beside what the scan says of it. The uncertainty of the difference combines both (JCGM 100, 5.1.2):
 * the scan's, and half the ± of the hand's, whose coverage factor is 2.
 */
export function agreementOf(byHand: number, uncertainty: number | undefined, scan: Uncertain<number>): Agreement {
  const difference = scan.value - byHand;
  const ofScan = doubtOf(scan);
  const combined = Math.hypot(ofScan?.standard ?? 0, (uncertainty ?? 0) / 2);
  // The hand's is taken as known for certain, with its factor of 2; what rests on few residuals of the scan keeps a wider one.
  const factor = ofScan ? Math.max(2, expandedNumber({ ...ofScan, standard: combined }).factor) : 2;
  const whole = factor * combined;
  return {
    scan: scan.value,
    ...times(plusMinus(scan), 1),
    difference,
    ...(combined > 0 && Number.isFinite(whole) && { differenceUncertainty: whole }),
    combined,
    ...(combined > 0 && { factor, multiples: Math.abs(difference) / combined }),
  };
}

/** What the job sheet shows of it beside the value read. */
export const agreementValues = ({
  scan,
  uncertainty,
  difference,
  differenceUncertainty,
}: Agreement): readonly SheetValue[] => [
  { name: 'on-scan', value: scan, unit: 'mm', ...(uncertainty !== undefined && { uncertainty }) },
  { name: 'difference', value: difference, unit: 'mm', ...times(differenceUncertainty, 1) },
];

/** `by hand and on the scan 0.031 mm apart, 1.2 combined standard uncertainties, no more than the 2.1 of 95 %: they agree` */
export function agreementInWords({ difference, multiples, factor }: Agreement): string {
  const apart = `by hand and on the scan ${Number(Math.abs(difference).toFixed(3))} mm apart`;
  if (multiples === undefined || factor === undefined)
    return `${apart}; without a ± on either there is no saying whether they agree`;
  return `${apart}, ${multiplesInWords(multiples, factor)}`;
}

/** A disagreement as a warning. */
export function warningsOf(what: string, byHand: number, agreement: Agreement): readonly Warning[] {
  const { scan, difference, combined, multiples, factor } = agreement;
  if (multiples === undefined || factor === undefined || multiples <= factor) return [];
  return [
    {
      code: 'by-hand-disagrees',
      message:
        `The ${what} by hand, ${lengthText(byHand)}, and on the scan, ${lengthText(scan)}, differ by ` +
        `${lengthText(Math.abs(difference))}${beyond(multiples, factor, lengthText(combined))}. ` +
        'Measure again, and check that both speak of the same place.',
    },
  ];
}
