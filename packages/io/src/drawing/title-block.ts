import type { Vec2 } from '@fettle/geom';
import type { Box } from '../labels/box.js';
import { fittedText, type Setting } from './fitted-text.js';
import { strokeAttributes } from './line-type.js';
import { num, textElement } from './svg-text.js';

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
export const TITLE_BLOCK = { width: 180, height: 36 } as const;

/** Heights of capitals, mm (ISO 3098). */
const SMALL = 1.8;
const PLAIN = 2.5;
const LARGE = 3.5;

/** From the edge of a field to its words, and from one of its lines to the next in heights of capitals. */
const SIDE = 1.2;
const PITCH = 1.5;

interface Field {
  readonly name?: string;
  readonly value: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** How its value may be set, the best first. */
  readonly settings: readonly Setting[];
  readonly bold?: boolean;
}

const TOP = { y: 0, height: 12 } as const;
const MIDDLE = { y: 12, height: 12.5 } as const;
const BOTTOM = { y: 24.5, height: 11.5 } as const;

const one: readonly Setting[] = [
  { size: PLAIN, lines: 1 },
  { size: SMALL, lines: 2 },
];
const two: readonly Setting[] = [
  { size: PLAIN, lines: 2 },
  { size: SMALL, lines: 2 },
];

const fieldsOf = (block: TitleBlock, scale: string, paper: string): readonly Field[] => [
  { name: 'Legal owner', value: block.owner ?? '', x: 0, width: 60, ...TOP, settings: one },
  { name: 'Document', value: 'Measured from a scan', x: 60, width: 60, ...TOP, settings: one },
  { name: 'Identification number', value: block.number ?? '', x: 120, width: 60, ...TOP, settings: one },
  { name: 'Creator', value: block.creator ?? '', x: 0, width: 30, ...MIDDLE, settings: one },
  { name: 'Approved by', value: block.approver ?? '', x: 30, width: 30, ...MIDDLE, settings: one },
  { name: 'Title', value: block.title, x: 60, width: 120, ...MIDDLE, settings: two, bold: true },
  { name: 'Date of issue', value: block.date ?? '', x: 0, width: 30, ...BOTTOM, settings: one },
  { name: 'Units', value: 'mm', x: 30, width: 30, ...BOTTOM, settings: one },
  {
    value: block.subtitle ?? '',
    x: 60,
    width: 60,
    ...BOTTOM,
    settings: [...two, { size: SMALL, lines: 3 }],
  },
  { name: 'Scale', value: scale, x: 120, width: 18, ...BOTTOM, settings: [{ size: LARGE, lines: 1 }, ...one] },
  { name: 'Paper', value: paper, x: 138, width: 26, ...BOTTOM, settings: one },
  { name: 'Sheet', value: block.sheet ?? '1/1', x: 164, width: 16, ...BOTTOM, settings: one },
];

/** The title block with its upper left corner at a place, as SVG elements. */
export function titleBlockElements(
  block: TitleBlock,
  { scale, paper }: { readonly scale: string; readonly paper: string },
  left: number,
  top: number,
): string[] {
  const { width, height } = TITLE_BLOCK;
  const box: Box = { left, top, right: left + width, bottom: top + height };
  const lines = [
    [0, MIDDLE.y, width, MIDDLE.y],
    [0, BOTTOM.y, 60, BOTTOM.y],
    [60, 0, 60, height],
    [120, 0, 120, MIDDLE.y],
    [30, MIDDLE.y, 30, height],
    [120, BOTTOM.y, width, BOTTOM.y],
    [120, BOTTOM.y, 120, height],
    [138, BOTTOM.y, 138, height],
    [164, BOTTOM.y, 164, height],
  ] as const;
  return [
    `<rect ${strokeAttributes('outline')} x="${num(box.left)}" y="${num(box.top)}" width="${width}" height="${height}"/>`,
    `<path ${strokeAttributes('thin')} d="${lines.map(([x0, y0, x1, y1]) => `M${num(left + x0)} ${num(top + y0)}L${num(left + x1)} ${num(top + y1)}`).join('')}"/>`,
    ...fieldsOf(block, scale, paper).flatMap((field) => fieldElements(field, [left + field.x, top + field.y])),
  ];
}

/** A field's name at its top, its value above its lower edge. */
function fieldElements({ name, value, width, height, settings, bold }: Field, [left, top]: Vec2): string[] {
  // Bold letters are a tenth wider.
  const room = (width - 2 * SIDE) / (bold ? 1.1 : 1);
  const { size, lines } = fittedText(value, room, settings);
  const pitch = PITCH * size;
  const first = top + height - 1.6 - (lines.length - 1) * pitch;
  return [
    ...(name === undefined ? [] : [textElement(name, [left + SIDE, top + 2.8], { size: SMALL })]),
    ...lines.map((line, i) => textElement(line, [left + SIDE, first + i * pitch], { size, ...(bold && { bold }) })),
  ];
}
