import type { Results, SheetRow, SheetValue } from '@fettle/geom';
import {
  countText,
  fixed,
  isUnsure,
  limitsText,
  UNSURE,
  uncertaintyText,
  valueText,
  verdictText,
} from '../text/number-text.js';
import { unbroken } from '../text/text-layout.js';
import { type Html, html } from './html-text.js';
import { extraText, type SheetColumn } from './sheet-column.js';

/** The job sheet as a table: a group of lines a row of the sheet, a line a value. */
export function sheetTable({ sheet }: Results, extraColumns: readonly SheetColumn[]): Html {
  const isLimited = sheet.some((row) => row.values.some(({ limits }) => limits));
  const columns = 7 + extraColumns.length + (isLimited ? 1 : 0);
  let frame: string | undefined;
  const groups = sheet.map((row) => {
    const heading = row.frame === frame ? undefined : frameRow(row.frame, columns);
    frame = row.frame;
    return html`${heading}${rowGroup(row, extraColumns, isLimited)}`;
  });
  return html`<div class="wide"><table class="sheet">
<caption>Lengths in mm, angles in degrees. ±: expanded uncertainty, 95 %; it says how far the number can be trusted and is no tolerance.${isLimited && sheet.some((row) => row.values.some(isUnsure)) ? ` ${UNSURE[0]!.toUpperCase()}${UNSURE.slice(1)}` : ''}</caption>
<thead><tr><th scope="col">No.</th><th scope="col">Feature</th><th scope="col">Dimension</th><th scope="col" class="n">Value</th><th scope="col" class="n">±</th><th scope="col">Unit</th>${extraColumns.map(({ title }) => html`<th scope="col" class="n">${title}</th>`)}${isLimited ? html`<th scope="col">Limits</th>` : undefined}<th scope="col">Points</th></tr></thead>
${groups}</table></div>`;
}

function frameRow(frame: string, columns: number): Html {
  const words = frame === 'scan' ? "Coordinates in the scan's own axes" : `Coordinates in frame “${frame}”`;
  return html`<tbody class="frame-row"><tr><th colspan="${columns}" scope="rowgroup">${words}</th></tr></tbody>`;
}

function rowGroup(row: SheetRow, extraColumns: readonly SheetColumn[], isLimited: boolean): Html {
  const span = Math.max(1, row.values.length);
  const first = html`<td rowspan="${span}"><span class="balloon">${row.balloon}</span></td><td rowspan="${span}" class="words">${featureCell(row)}</td>`;
  const points = html`<td rowspan="${span}" class="small nowrap">${pointsCell(row)}</td>`;
  const lines = Array.from({ length: span }, (_, v) => {
    const value = row.values[v];
    const cells = value
      ? valueCells(row, value, extraColumns, isLimited)
      : html`<td colspan="${4 + extraColumns.length + (isLimited ? 1 : 0)}"></td>`;
    return html`<tr>${v === 0 ? first : undefined}${cells}${v === 0 ? points : undefined}</tr>`;
  });
  return html`<tbody class="row" id="row-${row.balloon}">${lines}</tbody>`;
}

function featureCell({ id, what, note, where, uncertainty, region, advice = [] }: SheetRow): Html {
  const below = [where, note, uncertainty, region, ...advice].filter((text) => text !== undefined && text !== '');
  return html`<strong>${id}</strong><br>${unbroken(what)}${below.map((text) => html`<br><span class="small">${unbroken(text!)}</span>`)}`;
}

function pointsCell({ used, rejected, rms, form }: SheetRow): Html {
  const lines: string[] = [];
  if (used !== undefined) lines.push(`${countText(used)} used`);
  if (rejected !== undefined) lines.push(`${countText(rejected)} rejected`);
  if (rms !== undefined) lines.push(`rms ${fixed(rms, 3)}`);
  if (form !== undefined) lines.push(`form ${fixed(form, 3)}`);
  return html`${lines.map((line, i) => html`${i > 0 ? html`<br>` : undefined}${line}`)}`;
}

function valueCells(row: SheetRow, value: SheetValue, extraColumns: readonly SheetColumn[], isLimited: boolean): Html {
  const outside = value.verdict === 'outside';
  const limits = html`<td class="${outside ? 'outside' : ''}">${limitsText(value.limits)}${value.verdict ? `: ${verdictText(value)}` : undefined}</td>`;
  return html`<td class="nowrap">${value.name}</td><td class="n${outside ? ' outside' : ''}">${valueText(value)}</td><td class="n">${uncertaintyText(value)}</td><td>${value.unit}</td>${extraColumns.map((column) => html`<td class="n">${extraText(column, row, value)}</td>`)}${isLimited ? limits : undefined}`;
}
