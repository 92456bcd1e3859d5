import { deviationInWords, type Results } from '@fettle/geom';
import { type Html, html } from './html-text.js';
import { countText } from './number-text.js';

/** What was done to the scan before it was measured, and how far a delivered one departs from it; nothing where neither was. */
export function scanChangePart({ outcomes }: Results): Html | undefined {
  const entries = outcomes.flatMap((outcome) => {
    if (outcome.kind === 'prepare') return [html`<li><strong>${outcome.id}</strong>: ${outcome.words}</li>`];
    if (outcome.kind !== 'deliver' || !outcome.simplified) return [];
    const { scan, from, deviation } = outcome.simplified;
    const before = countText((from.triangles?.length ?? 0) / 3);
    return [
      html`<li><strong>${outcome.id}</strong>, as delivered: ${before} triangles simplified to ${countText(scan.triangles.length / 3)}; measured afterwards, ${deviationInWords(deviation)}.</li>`,
    ];
  });
  return entries.length > 0
    ? html`<section><h2>What was done to the scan</h2><ul>${entries}</ul></section>`
    : undefined;
}
