import { preparedScan, type Results, type Scan, type StepOutcome } from '@fettle/geom';
import { heightsOver } from '../picture/cut-away.js';
import { measuredSetting } from '../picture/measured-picture.js';
import type { PictureBalloon } from '../picture/picture-balloons.js';
import { pngBytes } from '../picture/png.js';
import { drawPicture, type Picture, type PictureOptions, seenBalloons } from '../picture/render-picture.js';
import { sectionPicture } from '../picture/section-picture.js';
import type { ViewName } from '../picture/view.js';
import { base64 } from './html-base64.js';
import { type Html, html } from './html-text.js';

/** Seen from the side that shows most first; of equals the earlier of these. */
const VIEWS: readonly ViewName[] = [
  'front-left',
  'front-right',
  'back-left',
  'back-right',
  'top',
  'front',
  'left',
  'right',
  'back',
  'bottom',
];
/** Pictures a report has. */
const COUNT = 3;
const LARGE = { size: { width: 1200, height: 750 } };
/** Shown half as wide: marks are larger. */
const SMALL = { size: { width: 900, height: 600 }, markRadius: 20 };

/**
 * Three pictures of the scan with balloons, from the views that show the most features between them, and one cut open at each section.
 */
export function pictureFigures(results: Results, given: Scan): Html {
  const scan = preparedScan(results.outcomes, given);
  const options = measuredSetting(results, given);
  const figures = chosenViews(scan, options).map((view, i) => {
    const picture = drawPicture(scan, { ...options, view, ...(i === 0 ? LARGE : SMALL) });
    return figure(picture, `${WORDS[view]}${axesOf(results)}`, results);
  });
  const cuts = results.outcomes.flatMap((outcome) => {
    if (outcome.kind !== 'section') return [];
    const balloons = atSection(options.balloons ?? [], outcome, results, scan);
    const picture = sectionPicture(outcome.section, scan, { ...options, ...SMALL, balloons });
    return picture ? [figure(picture, `Cut open at section “${outcome.id}”`, results)] : [];
  });
  return html`<div class="views">${figures}${cuts}</div>`;
}

/** Balloons of what a section is about: features fitted to it, and those it cuts. */
function atSection(
  balloons: readonly PictureBalloon[],
  { id, section }: Extract<StepOutcome, { kind: 'section' }>,
  { sheet, plan }: Results,
  scan: Scan,
): PictureBalloon[] {
  const heights = heightsOver(scan, section.plane);
  const rows = new Map(sheet.map((row) => [row.balloon, row.id]));
  const fitted = new Set(plan.steps.flatMap((step) => (step.step === 'fit' && step.to === id ? [step.id] : [])));
  return balloons.filter(({ number, points }) => {
    if (points === undefined) return fitted.has(rows.get(number)!);
    return points.some((p) => heights[p]! > 0) && points.some((p) => heights[p]! < 0);
  });
}

function chosenViews(scan: Scan, options: PictureOptions): ViewName[] {
  const shows = VIEWS.map((view) => new Set(seenBalloons(scan, { ...options, view })));
  const seen = new Set<number>();
  const chosen: ViewName[] = [];
  while (chosen.length < COUNT) {
    let [best, most] = [-1, -1];
    VIEWS.forEach((view, v) => {
      if (chosen.includes(view)) return;
      const fresh = [...shows[v]!].filter((number) => !seen.has(number)).length;
      // What is new counts most, then what is seen at all.
      const worth = fresh + 0.01 * shows[v]!.size;
      if (worth > most) [best, most] = [v, worth];
    });
    chosen.push(VIEWS[best]!);
    for (const number of shows[best]!) seen.add(number);
  }
  return chosen;
}

const WORDS: Readonly<Record<ViewName, string>> = {
  front: 'Front',
  back: 'Back',
  left: 'Left side',
  right: 'Right side',
  top: 'Top',
  bottom: 'Bottom',
  'front-left': 'Front, left and top',
  'front-right': 'Front, right and top',
  'back-left': 'Back, left and top',
  'back-right': 'Back, right and top',
};

const axesOf = ({ frameId }: Results): string => (frameId ? ` in the axes of “${frameId}”` : " in the scan's own axes");

function figure(picture: Picture, title: string, results: Results): Html {
  const numbers = picture.balloons.map(({ number }) => number).sort((a, b) => a - b);
  const ids = new Map(results.sheet.map(({ balloon, id }) => [balloon, id]));
  const shown = numbers.map((number) => `${number} ${ids.get(number)}`).join(', ');
  const alt = `Picture of the scan: ${title}${shown ? `, with balloons ${shown}` : ''}`;
  const src = `data:image/png;base64,${base64(pngBytes(picture, { palette: true }))}`;
  return html`<figure><img src="${src}" alt="${alt}" width="${picture.width}" height="${picture.height}"><figcaption>${title}.${shown ? ` Marked: ${shown}.` : ''}</figcaption></figure>`;
}
