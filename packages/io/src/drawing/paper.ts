import { FettleError } from '@fettle/geom';
import type { Box } from '../labels/box.js';

/** Trimmed sheets of ISO 216, as drawings use them (ISO 5457): A4 upright or lying, larger ones lying. */
export type PaperName = 'A4' | 'A4 landscape' | 'A3' | 'A2' | 'A1' | 'A0';

export interface Paper {
  readonly name: PaperName;
  /** mm */
  readonly width: number;
  readonly height: number;
}

/** From small to large. */
export const PAPERS: readonly Paper[] = [
  { name: 'A4', width: 210, height: 297 },
  { name: 'A4 landscape', width: 297, height: 210 },
  { name: 'A3', width: 420, height: 297 },
  { name: 'A2', width: 594, height: 420 },
  { name: 'A1', width: 841, height: 594 },
  { name: 'A0', width: 1189, height: 841 },
];

/** The drawing space inside the frame: 20 mm for filing on the left, 10 mm elsewhere (ISO 5457). */
export const frameOfPaper = ({ width, height }: Paper): Box => ({
  left: 20,
  top: 10,
  right: width - 10,
  bottom: height - 10,
});

/** @throws FettleError `drawing-paper` */
export function paperNamed(name: PaperName): Paper {
  const paper = PAPERS.find((one) => one.name === name);
  if (paper) return paper;
  throw new FettleError(
    'drawing-paper',
    `There is no paper "${name}". Choose ${PAPERS.map((p) => p.name).join(', ')}.`,
  );
}
