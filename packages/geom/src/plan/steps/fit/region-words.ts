import type { GrowthEnd } from '../../../region/growing/growth.js';
import { countText } from '../../../text/number-text.js';
import type { StepOutcome } from '../../step/outcome.js';

const reasons: Readonly<Record<GrowthEnd, string>> = {
  edge: 'at edges',
  turn: 'where the surface turns from point to point',
  spread: 'where it has turned by the spread',
  border: 'at the border of the scan',
  noise: 'at points off the surface',
};

/** Reasons that ended less of the rim than this are not told. */
const least = 0.1;

/** How large a region is and why growing ended: `region skin: 12,345 points, 8 % of the scan, 1,230 mm²; growing ended at edges (90 %)`. */
export function regionInWords({ id, size, grown = [] }: Extract<StepOutcome, { kind: 'region' }>): string {
  const area = Number(size.area.toPrecision(3)).toLocaleString('en-US');
  const share = Number((100 * size.share).toPrecision(2));
  const held = `region ${id}: ${countText(size.points)} ${size.points === 1 ? 'point' : 'points'}, ${share} % of the scan, ${area} mm²`;
  const kinds = Object.keys(reasons) as GrowthEnd[];
  const count = (kind: GrowthEnd) => grown.reduce((sum, { ends }) => sum + ends[kind], 0);
  const all = kinds.reduce((sum, kind) => sum + count(kind), 0);
  const told = kinds
    .map((kind) => ({ kind, share: count(kind) / all }))
    .filter((one) => one.share >= least)
    .sort((a, b) => b.share - a.share)
    .map((one) => `${reasons[one.kind]} (${Math.round(100 * one.share)} %)`);
  return told.length === 0 ? held : `${held}; growing ended ${told.join(', ')}`;
}
