import type { Vec2 } from '@fettle/geom';
import type { Box } from '../labels/box.js';
import { strokeAttributes } from './line-type.js';
import { num, textElement } from './svg-text.js';

/** Side of the box, mm: twice the height of its letter (ISO 5459, with ISO 81714-1 proportions). */
export const DATUM_BOX = 7;
const LETTER = 3.5;
const TRIANGLE = 3;

/**
 * The datum feature indicator of ISO 5459: a boxed letter, a line from it to a filled triangle that stands on the surface; to a dot on
 * a surface seen face on. mm on paper, y down.
 */
export function datumElements(letter: string, anchor: Vec2, box: Box, outward: Vec2 | undefined): string[] {
  const center: Vec2 = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  const foot: Vec2 = outward ? [anchor[0] + TRIANGLE * outward[0], anchor[1] + TRIANGLE * outward[1]] : anchor;
  const mark = outward
    ? `<path class="fill" fill="#16191d" data-datum="${letter}" d="M${num(foot[0])} ${num(foot[1])}L${num(anchor[0] - 0.58 * TRIANGLE * outward[1])} ${num(anchor[1] + 0.58 * TRIANGLE * outward[0])}L${num(anchor[0] + 0.58 * TRIANGLE * outward[1])} ${num(anchor[1] - 0.58 * TRIANGLE * outward[0])}Z"/>`
    : `<circle class="fill" fill="#16191d" data-datum="${letter}" cx="${num(anchor[0])}" cy="${num(anchor[1])}" r="0.7"/>`;
  return [
    `<path ${strokeAttributes('thin')} d="M${num(foot[0])} ${num(foot[1])}L${num(center[0])} ${num(center[1])}"/>`,
    mark,
    `<rect class="paper-line" x="${num(box.left)}" y="${num(box.top)}" width="${DATUM_BOX}" height="${DATUM_BOX}" fill="#ffffff" stroke="#16191d" stroke-width="0.25"/>`,
    textElement(letter, [center[0], center[1] + LETTER / 2], { size: LETTER, align: 'middle' }),
  ];
}
