import type { Vec2 } from '@fettle/geom';
import type { Box } from '../labels/box.js';
import { strokeAttributes } from './line-type.js';
import { num, textElement, widthOfText } from './svg-text.js';

/** Lengths of the part a bar may show, mm. */
const LENGTHS = [1000, 500, 200, 100, 50, 20, 10, 5];
/** Longest bar, mm on paper, and the words beside it. */
const LONGEST = 100;
const WORDS = 'Scale bar: check with a rule before use.';
const SIZE = 1.8;

export interface ScaleBar {
  /** mm of the part it stands for. */
  readonly length: number;
  readonly box: Box;
  readonly elements: readonly string[];
}

/** A ruled bar whose left end is at a place, for a drawing of `scale` mm on paper a mm of the part; notes stand in a line below it. */
export function scaleBar([x, y]: Vec2, scale: number, notes: readonly string[] = []): ScaleBar {
  const length = LENGTHS.find((one) => one * scale <= LONGEST) ?? LENGTHS.at(-1)!;
  const long = length * scale;
  const parts = 10;
  const words = [WORDS, ...notes.map((note) => `${note}.`)].join('  ');
  const ticks = Array.from({ length: parts + 1 }, (_, i) => {
    const at = num(x + (long * i) / parts);
    return `M${at} ${num(y)}v${i % 5 === 0 ? -3 : -1.8}`;
  });
  return {
    length,
    box: { left: x - 4, top: y - 10, right: x + Math.max(long + 12, 60, widthOfText(words, SIZE)), bottom: y + 5 },
    elements: [
      `<path ${strokeAttributes('thin')} data-scale-bar="${length}" d="M${num(x)} ${num(y)}h${num(long)}${ticks.join('')}"/>`,
      textElement('0', [x, y - 4.2], { size: 2.5, align: 'middle' }),
      textElement(`${length} mm`, [x + long, y - 4.2], { size: 2.5, align: 'middle' }),
      textElement(words, [x, y + 4], { size: SIZE }),
    ],
  };
}
