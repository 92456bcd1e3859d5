import type { Box } from './box.js';
import { strokeAttributes } from './line-type.js';
import { num, textElement, widthOfText } from './svg-text.js';

/** Fields of a title block (ISO 7200). */
export interface TitleBlock {
  readonly title: string;
  /** Second line of the title: what of the part the sheet shows. */
  readonly subtitle?: string;
  /** Date of issue, as `2026-03-14`. */
  readonly date?: string;
  readonly creator?: string;
  readonly approver?: string;
  readonly owner?: string;
  /** Identification number of the drawing. */
  readonly number?: string;
  /** Sheet, as `1/3`. */
  readonly sheet?: string;
}

/** Width of a title block, mm (ISO 7200), and height. */
export const TITLE_BLOCK = { width: 180, height: 34 } as const;

interface Field {
  readonly name: string;
  readonly value: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly size: number;
}

/** The title block with its upper left corner at a place, as SVG elements. */
export function titleBlockElements(
  block: TitleBlock,
  { scale, paper }: { readonly scale: string; readonly paper: string },
  left: number,
  top: number,
): string[] {
  const fields: Field[] = [
    { name: 'Legal owner', value: block.owner ?? '', x: 0, y: 0, width: 60, height: 12, size: 2.5 },
    { name: 'Document', value: 'Measured from a scan', x: 60, y: 0, width: 60, height: 12, size: 2.5 },
    { name: 'Identification number', value: block.number ?? '', x: 120, y: 0, width: 60, height: 12, size: 2.5 },
    { name: 'Creator', value: block.creator ?? '', x: 0, y: 12, width: 30, height: 11, size: 2.5 },
    { name: 'Approved by', value: block.approver ?? '', x: 30, y: 12, width: 30, height: 11, size: 2.5 },
    { name: 'Date of issue', value: block.date ?? '', x: 0, y: 23, width: 30, height: 11, size: 2.5 },
    { name: 'Units', value: 'mm', x: 30, y: 23, width: 30, height: 11, size: 2.5 },
    { name: 'Scale', value: scale, x: 120, y: 23, width: 18, height: 11, size: 3.5 },
    { name: 'Paper', value: paper, x: 138, y: 23, width: 26, height: 11, size: 2.5 },
    { name: 'Sheet', value: block.sheet ?? '1/1', x: 164, y: 23, width: 16, height: 11, size: 2.5 },
  ];
  const box: Box = { left, top, right: left + TITLE_BLOCK.width, bottom: top + TITLE_BLOCK.height };
  const lines = [
    [0, 12, 180, 12],
    [0, 23, 60, 23],
    [60, 0, 60, 34],
    [120, 0, 120, 12],
    [30, 12, 30, 34],
    [120, 23, 180, 23],
    [120, 23, 120, 34],
    [138, 23, 138, 34],
    [164, 23, 164, 34],
  ] as const;
  const titleRoom = 116;
  return [
    `<rect ${strokeAttributes('outline')} x="${num(box.left)}" y="${num(box.top)}" width="${TITLE_BLOCK.width}" height="${TITLE_BLOCK.height}"/>`,
    `<path ${strokeAttributes('thin')} d="${lines.map(([x0, y0, x1, y1]) => `M${num(left + x0)} ${num(top + y0)}L${num(left + x1)} ${num(top + y1)}`).join('')}"/>`,
    ...fields.flatMap(({ name, value, x, y, width, height, size }) => [
      textElement(name, [left + x + 1.2, top + y + 3], { size: 1.6 }),
      textElement(shortened(value, width - 2.4, size), [left + x + 1.2, top + y + height - 2.4], { size }),
    ]),
    textElement('Title', [left + 61.2, top + 15], { size: 1.6 }),
    textElement(shortened(block.title, titleRoom, 2.2), [left + 61.2, top + 20.6], { size: 2.2, bold: true }),
    textElement(shortened(block.subtitle ?? '', 56, 2.2), [left + 61.2, top + 30], { size: 2.2 }),
  ];
}

/** A text that fits a width: its end cut off for `…` where it does not. */
function shortened(text: string, width: number, size: number): string {
  if (widthOfText(text, size) <= width) return text;
  let cut = [...text];
  while (cut.length > 1 && widthOfText(`${cut.join('')}…`, size) > width) cut = cut.slice(0, -1);
  return `${cut.join('').trimEnd()}…`;
}
