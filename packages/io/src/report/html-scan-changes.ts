import { type DeliverScanStep, deviationInWords, type Results, type StepOutcome } from '@fettle/geom';
import { countText } from '../text/number-text.js';
import { type Html, html } from './html-text.js';

/** What was done to the scan before it was measured, and as what it is delivered; nothing where neither was. */
export function scanChangePart({ outcomes }: Results): Html | undefined {
  const entries = outcomes.flatMap((outcome) => {
    if (outcome.kind === 'prepare') return [html`<li><strong>${outcome.id}</strong>: ${outcome.words}</li>`];
    if (outcome.kind !== 'deliver' || !('scan' in outcome.deliver)) return [];
    return [html`<li><strong>${outcome.id}</strong>: ${fileWords(outcome.deliver)}${simplifiedWords(outcome)}.</li>`];
  });
  return entries.length > 0
    ? html`<section><h2>What was done to the scan</h2><ul>${entries}</ul></section>`
    : undefined;
}

/** `delivered as STL in inches, set on datum` */
function fileWords({ scan: { format, units = 'mm', in: frame } }: DeliverScanStep): string {
  const unit = units === 'inch' ? 'inches' : units;
  const place = frame === undefined ? 'as scanned' : `set on ${frame}`;
  const choose =
    format === '3mf' ? '' : `; ${format.toUpperCase()} has no field for the unit, so choose it where it is opened`;
  return `delivered as ${format.toUpperCase()} in ${unit}, ${place}${units === 'mm' ? '' : choose}`;
}

function simplifiedWords({ simplified }: Extract<StepOutcome, { kind: 'deliver' }>): string {
  if (simplified === undefined) return '';
  const { scan, from, deviation } = simplified;
  const before = countText((from.triangles?.length ?? 0) / 3);
  const after = countText(scan.triangles.length / 3);
  return `; ${before} triangles simplified to ${after}; measured afterwards, ${deviationInWords(deviation)}`;
}
