import type { Vec2 } from '@fettle/geom';
import { strokeAttributes } from './line-type.js';
import { num, textElement, widthOfText } from './svg-text.js';

const SIZE = 2.5;
const LINE = 4.5;
const SIDE = 1.4;

/** A table measured before it is drawn, mm. */
export interface PlaceTable {
  readonly width: number;
  readonly height: number;
  elements(corner: Vec2): string[];
}

/** Rows of texts, the first of them titles: numbers to the right, the second column to the left. */
export function placeTable(rows: readonly (readonly string[])[]): PlaceTable {
  const widths = (rows[0] ?? []).map(
    (_, c) => Math.max(...rows.map((row) => widthOfText(row[c] ?? '', SIZE))) + 2 * SIDE,
  );
  const width = widths.reduce((sum, w) => sum + w, 0);
  const height = rows.length * LINE;
  return {
    width,
    height,
    elements([left, top]) {
      const starts = widths.map((_, c) => left + widths.slice(0, c).reduce((sum, w) => sum + w, 0));
      const rules = rows.map((_, r) => `M${num(left)} ${num(top + r * LINE)}h${num(width)}`);
      const uprights = starts.map((x) => `M${num(x)} ${num(top)}v${num(height)}`);
      return [
        `<path ${strokeAttributes('thin')} d="${rules.join('')}${uprights.join('')}M${num(left)} ${num(top + height)}h${num(width)}v${num(-height)}"/>`,
        ...rows.flatMap((row, r) =>
          row.map((text, c) => {
            const isText = c === 1;
            const x = isText ? starts[c]! + SIDE : starts[c]! + widths[c]! - SIDE;
            return textElement(text, [x, top + (r + 1) * LINE - 1], {
              size: SIZE,
              align: isText ? 'start' : 'end',
              bold: r === 0,
            });
          }),
        ),
      ];
    },
  };
}
