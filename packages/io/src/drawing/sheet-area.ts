import type { Vec2 } from '@fettle/geom';
import type { Box } from '../labels/box.js';
import { frameOfPaper, type Paper } from './paper.js';
import type { PlaceTable } from './place-table.js';
import { TITLE_BLOCK } from './title-block.js';

/** Height of the strip with title block and, beside it, the table. */
const STRIP = TITLE_BLOCK.height + 2;

/** The table lies left of the title block where the paper is wide, else above it. */
function isBeside(paper: Paper, table: PlaceTable): boolean {
  const frame = frameOfPaper(paper);
  return frame.right - frame.left - TITLE_BLOCK.width - 4 >= table.width;
}

/** Where the part may lie with all that is written about it: above title block, table and scale bar. */
export function freeArea(paper: Paper, table: PlaceTable | undefined): Box {
  const frame = frameOfPaper(paper);
  const strip = !table ? STRIP : isBeside(paper, table) ? Math.max(STRIP, table.height + 2) : STRIP + table.height + 2;
  // The scale bar lies above the strip.
  return { left: frame.left + 2, top: frame.top + 2, right: frame.right - 2, bottom: frame.bottom - strip - 18 };
}

/** The upper left corner of the table. */
export function tableCorner(paper: Paper, table: PlaceTable): Vec2 {
  const frame = frameOfPaper(paper);
  if (isBeside(paper, table)) return [frame.left, frame.bottom - table.height];
  return [frame.right - table.width, frame.bottom - TITLE_BLOCK.height - 2 - table.height];
}
