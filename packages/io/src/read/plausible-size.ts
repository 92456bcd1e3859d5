import type { Warning } from '@fettle/geom';
import { type LengthUnit, millimetersIn } from './units.js';

/** Units the numbers of a file may have been in; micrometers are not read, but recognized. */
export type ProbableUnit = LengthUnit | 'µm';

/** A unit a scan may have been in, and its largest extent if it was, mm. */
export interface UnitOffer {
  readonly unit: ProbableUnit;
  readonly size: number;
}

/** Whether a scan's size is one of a machine or a part of one; if not, all units that would make it so, the likeliest first. */
export interface SizeJudged {
  readonly plausible: boolean;
  readonly offers: readonly UnitOffer[];
}

/** Largest extent of what is scanned to build on, from a small part to a large machine, mm: common practice, no source. */
const PLAUSIBLE = { least: 10, most: 30_000 } as const;
/** What scans are near to as often larger as smaller: the middle between the ends as ratios go. */
const MIDDLE = Math.sqrt(PLAUSIBLE.least * PLAUSIBLE.most);

const inMillimeters: Readonly<Record<ProbableUnit, number>> = { ...millimetersIn, µm: 1e-3 };

const isPlausible = (size: number): boolean => size >= PLAUSIBLE.least && size <= PLAUSIBLE.most;

/**
 * The one rule for what asks or warns about the unit of a scan that is measured: `fettle info`, `fettle measure` and the page.
 *
 * @param largest extent along an axis, mm, as read in `unit`
 */
export function judgeSize(largest: number, unit: LengthUnit): SizeJudged {
  if (isPlausible(largest)) return { plausible: true, offers: [] };
  const asWritten = largest / millimetersIn[unit];
  const offers = (Object.keys(inMillimeters) as ProbableUnit[])
    .map((other) => ({ unit: other, size: asWritten * inMillimeters[other] }))
    .filter((offer) => offer.unit !== unit && isPlausible(offer.size));
  const fromMiddle = ({ size }: UnitOffer): number => Math.abs(Math.log(size / MIDDLE));
  return { plausible: false, offers: offers.sort((a, b) => fromMiddle(a) - fromMiddle(b)) };
}

/** Whether a file can be read in a unit, as all but micrometers. */
export const isReadable = (unit: ProbableUnit): unit is LengthUnit => unit !== 'µm';

/** The warning on a scan whose size another unit would make plausible. @param sides extents along the axes, mm, as read in `unit` */
export function doubtfulSize(name: string, sides: readonly number[], unit: LengthUnit): Warning | undefined {
  const { offers } = judgeSize(Math.max(...sides), unit);
  if (offers.length === 0) return undefined;
  const length = (mm: number): string =>
    Number(mm.toPrecision(4)).toLocaleString('en-US', { maximumFractionDigits: 6 });
  const likely = offers.map((offer) => `${offer.unit} (${length(offer.size)} mm)`).join(', ');
  return {
    code: 'implausible-extent',
    message: `${name}: read in ${unit} the scan measures ${sides.map(length).join(' × ')} mm, hard to believe. Its numbers may be ${likely}: say which unit it is in, or export it again in mm.`,
  };
}
