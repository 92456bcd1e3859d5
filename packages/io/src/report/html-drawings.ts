import { FettleError, preparedScan, type Results, type Scan } from '@fettle/geom';
import type { Drawing } from '../drawing/drawing.js';
import { featureDrawing } from '../drawing/feature-drawing.js';
import { outcomeDrawing } from '../drawing/outcome-drawing.js';
import { laySheet } from '../drawing/sheet.js';
import { sheetInPage } from '../drawing/write-svg.js';
import { type Html, html, raw } from './html-text.js';

/** The features from above and each section, as sheets reduced to the page. */
export function drawingFigures(results: Results, scan: Scan, date: string | undefined): Html {
  const sections = results.outcomes.flatMap((outcome) => (outcome.kind === 'section' ? [outcome] : []));
  const figures = [
    sheet(results, 'Features from above', date, () => fromAbove(results, scan)),
    ...sections.map((outcome) =>
      sheet(results, `Section “${outcome.id}”`, date, () => outcomeDrawing(outcome, results, scan)),
    ),
  ];
  return html`<p class="lead">Reduced to fit this page: go by the scale bar. A sheet of its own prints at the scale it states.</p>${figures}`;
}

/** Without the table of places: the job sheet has them. */
function fromAbove(results: Results, scan: Scan): Drawing {
  const { positions, normals } = preparedScan(results.outcomes, scan);
  const { table: _, ...drawing } = featureDrawing(results, { view: 'top', positions, ...(normals && { normals }) });
  return drawing;
}

function sheet(results: Results, subtitle: string, date: string | undefined, make: () => Drawing): Html {
  const note = results.plan.steps.find(({ id }) => subtitle === `Section “${id}”`)?.note;
  const caption = `${subtitle}${note ? `: ${note}` : '.'}`;
  try {
    const laid = laySheet(make(), { scale: 'fit', title: results.title, subtitle, ...(date && { date }) });
    const left = laid.leftOut.length > 0 ? ` No room for balloons ${laid.leftOut.join(', ')}.` : '';
    return html`<figure>${raw(sheetInPage(laid, `${subtitle} of ${results.title}`))}<figcaption>${caption}${left}</figcaption></figure>`;
  } catch (error) {
    if (!(error instanceof FettleError && error.code === 'drawing-empty')) throw error;
    return html`<p>${caption} Nothing of it can be drawn.</p>`;
  }
}
