import { FettleError, noiseInWords, type Results, type Scan, type SheetRow, scannerOf, version } from '@fettle/geom';
import { counted, countText, isUnsure, limitsText, megabytes, valueText } from '../text/number-text.js';
import { unbroken } from '../text/text-layout.js';
import { CAUTION } from './caution.js';
import { failedInWords, type ToldFailure, toldFailures, waitingInWords } from './failed-steps.js';
import { drawingFigures } from './html-drawings.js';
import { featureParts } from './html-features.js';
import { frameParts } from './html-frame.js';
import { sheetTable } from './html-job-sheet.js';
import { pictureFigures } from './html-pictures.js';
import { planText } from './html-plan.js';
import { scanChangePart } from './html-scan-changes.js';
import { STYLE } from './html-style.js';
import { type Html, html, raw } from './html-text.js';
import { accuracyText, scannerText } from './scanner-text.js';
import type { SheetColumn } from './sheet-column.js';
import { toldWarnings } from './told-warnings.js';

export interface ReportOptions {
  /** Where the scan comes from, so that anyone can run the plan on it again. */
  readonly source?: {
    /** Name of the file. */
    readonly file: string;
    /** SHA-256 of its bytes, in hexadecimal. */
    readonly sha256?: string;
    readonly bytes?: number;
  };
  /** Date of issue, as `2026-03-14`. */
  readonly date?: string;
  /** Who made the report. */
  readonly creator?: string;
  /** What else took part, by name: `{ node: '20.19.0' }`. */
  readonly versions?: Readonly<Record<string, string>>;
  /** Further columns of the job sheet. */
  readonly extraColumns?: readonly SheetColumn[];
}

/**
 * Everything about one scan measured by one plan in one HTML file: it refers to nothing outside itself, reads on a screen and prints on A4.
 * Same results, scan and options, same bytes. Needs results with outcomes.
 *
 * @param scan as it was given to the plan
 * @throws FettleError `results-without-outcomes`
 */
export function reportHtml(results: Results, scan: Scan, options: ReportOptions = {}): string {
  if (results.outcomes.length === 0 && results.plan.steps.length > 0)
    throw new FettleError(
      'results-without-outcomes',
      'These results hold the job sheet alone; a report shows residuals, sections and pictures too. Measure with outcomes.',
    );
  const { date, extraColumns = [] } = options;
  const body = html`<main>
${header(results, options)}
<section class="caution" aria-labelledby="caution"><h2 id="caution">Before you cut</h2><p>${CAUTION}</p></section>
${failurePart(results)}
${verdictPart(results)}
<section><h2>Pictures of the scan</h2>${pictureFigures(results, scan)}</section>
<section class="own-page"><h2>Job sheet</h2>${sheetTable(results, extraColumns)}</section>
<section><h2>Datum frame</h2>${frameParts(results)}</section>
${scanChangePart(results)}
${warningPart(results)}
<section class="sheets"><h2>Drawings</h2>${drawingFigures(results, scan, date)}</section>
<section><h2>Fitted features</h2><p class="lead">Residuals are distances of the points from the fitted feature: positive outside, or on the side its normal points to.</p>${featureParts(results, scan)}</section>
${provenancePart(results, options)}
</main>`;
  return html`${raw('<!DOCTYPE html>')}
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">
<meta name="generator" content="Fettle ${version}">
<title>${results.title}: ${results.scan.name}</title>
<style>${raw(STYLE)}</style>
</head>
<body>
${body}
</body>
</html>
`.html;
}

function header(results: Results, { date, creator }: ReportOptions): Html {
  const { title, plan, scan, sheet } = results;
  const scanner = scannerOf(plan);
  const limited = sheet.flatMap((row) => row.values).filter(({ verdict }) => verdict !== undefined);
  const outside = limited.filter(({ verdict }) => verdict === 'outside').length;
  const unsure = limited.filter(isUnsure).length;
  const failed = failedInWords(results);
  const verdict =
    failed !== '' ? 'Incomplete' : limited.length === 0 ? 'Measured' : outside > 0 ? 'Outside limits' : 'Within limits';
  const ofLimits =
    limited.length === 0
      ? html`<span>no limits set</span>`
      : html`<span>${outside} of ${limited.length} values outside</span>${unsure > 0 ? html`<span>${unsure} unsure: limit inside the ±</span>` : undefined}`;
  const state = html`<strong class="${failed !== '' || outside > 0 ? 'outside' : ''}">${verdict}</strong>${failed === '' ? undefined : html`<span>${failed}</span>`}${ofLimits}`;
  const fields: (readonly [string, string])[] = [
    ['Scan', scan.name],
    ['Points', countText(scan.points)],
    ['Triangles', scan.triangles > 0 ? countText(scan.triangles) : 'none: a cloud'],
    ['Units', 'mm, degrees'],
    ['Scanner', scanner ? accuracyText(scanner) : 'not stated'],
    ['Date of issue', date ?? 'not stated'],
    ['Creator', creator ?? 'not stated'],
    ['Measured with', `Fettle ${version}`],
  ];
  return html`<header class="head"><div><h1>${title}</h1><p>Report of measurements from a scan</p></div><div class="state">${state}</div>
<dl class="fields">${fields.map(([name, value]) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl></header>`;
}

/** The steps that gave nothing, with what waits for them, and what was left out. */
function failurePart(results: Results): Html | undefined {
  const { failures, leftOut } = toldFailures(results.failed);
  const list = (told: readonly ToldFailure[], css: string): Html =>
    html`<ul>${told.map((one) => html`<li class="${css}">${unbroken(one.failed.message)} ${waitingInWords(one)}</li>`)}</ul>`;
  return html`${failures.length > 0 ? html`<section><h2>Failed</h2><p>${failedInWords(results)}. What does not rest on them was measured.</p>${list(failures, 'outside')}</section>` : undefined}${leftOut.length > 0 ? html`<section><h2>Left out, being optional</h2>${list(leftOut, '')}</section>` : undefined}`;
}

function verdictPart({ sheet }: Results): Html | undefined {
  const outside = sheet.flatMap((row) =>
    row.values.filter(({ verdict }) => verdict === 'outside').map((value) => ({ row, value })),
  );
  if (outside.length === 0) return undefined;
  return html`<section><h2>Outside limits</h2><ul>${outside.map(
    ({ row, value }) =>
      html`<li class="outside"><span class="balloon">${row.balloon}</span> ${row.id}: ${value.name} ${valueText(value)} ${value.unit}; it should be ${limitsText(value.limits)} ${value.unit}.</li>`,
  )}</ul></section>`;
}

/** All warnings, those of features with their numbers. */
function warningPart(results: Results): Html {
  const numbered = ({ balloon, id }: SheetRow): Html =>
    html`<span class="balloon">${balloon}</span> <strong>${id}</strong>`;
  const entries = toldWarnings(results).map(({ message, about, likewise }) => {
    const others = likewise.map((row, i) => html`${i > 0 ? ', ' : undefined}${numbered(row)}`);
    return html`<li>${about ? html`${numbered(about)}: ` : undefined}${unbroken(message)}${others.length > 0 ? html` Likewise ${others}.` : undefined}</li>`;
  });
  return html`<section><h2>Warnings</h2>${entries.length > 0 ? html`<ul>${entries}</ul>` : html`<p>None.</p>`}</section>`;
}

function provenancePart({ plan, scan, noise }: Results, { source, versions = {} }: ReportOptions): Html {
  const facts: (readonly [string, Html])[] = [
    ['Scan file', html`${source?.file ?? scan.name}`],
    ['SHA-256 of the file', source?.sha256 ? html`<code>${source.sha256}</code>` : html`not taken`],
    ...(source?.bytes !== undefined
      ? [['Size', html`${megabytes(source.bytes)} MB, ${countText(source.bytes)} bytes`] as const]
      : []),
    ['Scanner', html`${scannerText(scannerOf(plan))}`],
    ...(noise ? [['Noise', html`${noiseInWords(noise)}`] as const] : []),
    ['Plan', html`${counted(plan.steps.length, 'step')}, format version ${plan.version}, printed below`],
    [
      'Versions',
      html`${[`Fettle ${version}`, ...Object.entries(versions).map(([name, v]) => `${name} ${v}`)].join(', ')}`,
    ],
  ];
  return html`<section><h2>Where these numbers come from</h2>
<table><caption>To measure again: save the plan below as plan.json and run <code>fettle measure plan.json ${source?.file ?? scan.name}</code></caption><tbody>${facts.map(([name, value]) => html`<tr><th scope="row">${name}</th><td>${value}</td></tr>`)}</tbody></table>
<h3>Plan</h3><pre tabindex="0">${planText(plan)}</pre></section>`;
}
