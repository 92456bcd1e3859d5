import { FettleError, type Vec2 } from '@fettle/geom';
import { PAPERS, type Paper, type PaperName, paperNamed } from './paper.js';
import type { PlaceTable } from './place-table.js';
import { freeArea } from './sheet-area.js';

/** Free paper around the part for balloons and words, mm. */
const AROUND = 20;

export interface PaperOptions {
  readonly scale: number;
  readonly table: PlaceTable | undefined;
  /** Default: the smallest that holds it. */
  readonly paper?: PaperName;
}

/**
 * The paper for a part drawn to scale.
 *
 * @param drawn width and height of the part with its dimensions, mm on paper
 * @throws FettleError `drawing-too-large` where the paper, or A0, does not hold it
 */
export function paperFor([width, height]: Vec2, { scale, table, paper }: PaperOptions): Paper {
  const needed: Vec2 = [width + 2 * AROUND, height + 2 * AROUND];
  const choice = paper ? [paperNamed(paper)] : PAPERS;
  const found = choice.find((one) => {
    const [across, up] = room(one, table);
    return needed[0] <= across && needed[1] <= up;
  });
  if (!found) throw tooLarge(choice.at(-1)!, needed, scale, table);
  return found;
}

function room(paper: Paper, table: PlaceTable | undefined): Vec2 {
  const free = freeArea(paper, table);
  return [free.right - free.left, free.bottom - free.top];
}

function tooLarge(paper: Paper, needed: Vec2, scale: number, table: PlaceTable | undefined): FettleError {
  const [across, up] = room(paper, table);
  const isLargest = paper.name === 'A0';
  // Whatever the scale.
  if (table && up <= 2 * AROUND)
    return new FettleError(
      'drawing-too-large',
      `Its table of places, ${Math.ceil(table.height)} mm high, leaves no room for the drawing on ${paper.name}. ` +
        `${isLargest ? 'Measure fewer features in one plan.' : 'Choose larger paper.'}`,
    );
  const most = scale * Math.min(across / needed[0], up / needed[1]);
  return new FettleError(
    'drawing-too-large',
    `At scale ${scale} the drawing needs ${Math.ceil(needed[0])} × ${Math.ceil(needed[1])} mm, more than ${paper.name} holds. ` +
      `Choose ${isLargest ? '' : 'larger paper or '}a scale of about ${Number((0.9 * most).toPrecision(1))}.`,
  );
}
