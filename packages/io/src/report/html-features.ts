import {
  type Feature,
  type Fit,
  type Frame,
  type Results,
  type Scan,
  type SheetRow,
  type StepOutcome,
  scanFrame,
} from '@fettle/geom';
import { counted, countText, fixed, shortNumber } from '../text/number-text.js';
import { unbroken } from '../text/text-layout.js';
import { residualRange } from './html-diverging.js';
import { fitPositions } from './html-fit-points.js';
import { residualHistogram } from './html-histogram.js';
import { residualMap } from './html-residual-map.js';
import { type Html, html } from './html-text.js';

type FitOutcome = Extract<StepOutcome, { kind: 'fit' }>;

/** A part of the report for each fitted feature: how its points lie about it, and how far it can be trusted. */
export function featureParts(results: Results, scan: Scan): Html {
  const rows = new Map(results.sheet.map((row) => [row.id, row]));
  const fits = results.outcomes.filter((outcome): outcome is FitOutcome => outcome.kind === 'fit');
  return html`${fits.map(({ id, fit }) => featurePart(id, fit, rows.get(id), fitPositions(results, scan, id), results.frame ?? scanFrame))}`;
}

function featurePart(
  id: string,
  fit: Fit<Feature>,
  row: SheetRow | undefined,
  positions: Float64Array | undefined,
  frame: Frame,
): Html {
  const range = residualRange(fit.residuals);
  const heading = row ? html`<span class="balloon">${row.balloon}</span> ${id}: ${row.what}` : html`${id}`;
  const map =
    positions && fit.used.every((p) => 3 * p < positions.length)
      ? residualMap(fit, positions, range, frame)
      : undefined;
  return html`<section class="feature"><h3>${heading}</h3>
<div class="charts">${map}${residualHistogram(fit.residuals, range, fit.rms)}</div>
<ul>${factsOf(fit, row).map((fact) => html`<li>${unbroken(fact)}</li>`)}</ul></section>`;
}

function factsOf(fit: Fit<Feature>, row: SheetRow | undefined): string[] {
  const { count, rejected, rms, form, max, coverage, criterion, uncertainty } = fit;
  const facts = [
    `${counted(count, 'point')} used, by ${criterion === 'least-squares' ? 'least squares' : criterion.replaceAll('-', ' ')}; rms ${fixed(rms, 3)} mm, highest to lowest ${fixed(form, 3)} mm, farthest ${fixed(max, 3)} mm.`,
    rejectedText(rejected.length, count),
  ];
  if (row?.uncertainty) facts.push(`How far it can be trusted: ${row.uncertainty}.`);
  if (row?.region) facts.push(`R${row.region.slice(1)}.`);
  facts.push(...(row?.advice ?? []));
  if (uncertainty.correlationLength)
    facts.push(
      `Neighboring points err together over some ${shortNumber(uncertainty.correlationLength, 2)} mm; this is counted in the uncertainty.`,
    );
  const { arc, length } = coverage;
  if (arc !== undefined) facts.push(`The points cover ${fixed((arc * 180) / Math.PI, 0)}° of it.`);
  if (length !== undefined) facts.push(`The points reach over ${fixed(length, 1)} mm along it.`);
  if (row && row.warnings.length > 0) facts.push(`${counted(row.warnings.length, 'warning')}: under Warnings.`);
  return facts;
}

function rejectedText(rejected: number, used: number): string {
  if (rejected === 0) return 'No point was rejected.';
  const share = (100 * rejected) / (rejected + used);
  return `${countText(rejected)} rejected as strays, ${share < 0.1 ? 'less than 0.1' : fixed(share, 1)} % of those given.`;
}
