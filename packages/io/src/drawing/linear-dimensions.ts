import type { Vec2 } from '@fettle/geom';
import { type Box, boxesOverlap, lengthInside, type Segment } from '../labels/box.js';
import { strokeAttributes } from './line-type.js';
import { num, textElement, widthOfText } from './svg-text.js';

/** A dimension in mm on paper, y down. */
export interface PaperDimension {
  readonly from: Vec2;
  readonly to: Vec2;
  readonly text: string;
  readonly balloon?: number;
  /** What it belongs to, outside which it is drawn; default the whole part. */
  readonly around?: Box;
  /** Only the part of the way that runs so. Default: the way itself. */
  readonly along?: 'x' | 'y';
}

/** What dimensions are laid among, mm on paper. */
export interface DimensionRoom {
  readonly part: Box;
  /** Lines of the part, which no text may lie on. */
  readonly lines: readonly Segment[];
  readonly obstacles: readonly Box[];
}

/** Dimensions laid out: what they are made of, and where they lie. */
export interface LaidDimensions {
  readonly elements: readonly string[];
  readonly boxes: readonly Box[];
  readonly lines: readonly Segment[];
}

const SIZE = 3;
/** From the part to the first dimension line, and from each to the next, mm (ISO 129-1 leaves it to the draftsman). */
const FIRST = 10;
const NEXT = 9;
/** Length of arrow heads. */
export const ARROW = 2.6;
const BEYOND = 1.6;
/** Radius of the balloon before a measured dimension. */
const BALLOON = 2.6;

/**
 * Dimensions outside what they belong to: level ones below it, upright ones to its right, shorter ones nearer, on as many lines as keep
 * their texts off each other and off the part's lines; slanting ones along themselves.
 */
export function layDimensions(dimensions: readonly PaperDimension[], room: DimensionRoom): LaidDimensions {
  const laid: Placed[] = [];
  const byLength = [...dimensions].sort((a, b) => lengthOf(a) - lengthOf(b));
  for (const dimension of byLength) laid.push(place(dimension, room, laid));
  return {
    elements: laid.flatMap(({ elements }) => elements),
    boxes: laid.map(({ box }) => box),
    lines: laid.flatMap(({ lines }) => lines),
  };
}

/** Paper a drawing with these dimensions takes up beyond the part: above, below and to the right, mm. */
export function roomForDimensions(
  dimensions: readonly PaperDimension[],
  room: DimensionRoom,
): { readonly above: number; readonly below: number; readonly right: number } {
  const { boxes } = layDimensions(dimensions, room);
  const { part } = room;
  return {
    above: Math.max(0, ...boxes.map(({ top }) => part.top - top)),
    below: Math.max(0, ...boxes.map(({ bottom }) => bottom - part.bottom)),
    right: Math.max(0, ...boxes.map(({ right }) => right - part.right)),
  };
}

interface Placed {
  readonly elements: readonly string[];
  /** All between its ends, with its text. */
  readonly box: Box;
  /** Where its text lies, with its balloon. */
  readonly words: Box;
  readonly lines: readonly Segment[];
}

const sizeOf = ({ from, to }: PaperDimension): Vec2 => [Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1])];

function lengthOf(dimension: PaperDimension): number {
  const [dx, dy] = sizeOf(dimension);
  return dimension.along === 'x' ? dx : dimension.along === 'y' ? dy : Math.hypot(dx, dy);
}

/** Lines tried beyond the part before one is taken as it comes. */
const MOST_BEYOND = 40;

function place(
  dimension: PaperDimension,
  { part, lines, obstacles }: DimensionRoom,
  others: readonly Placed[],
): Placed {
  const [dx, dy] = sizeOf(dimension);
  const { along, around = part } = dimension;
  const isLevel = along === 'x' || (along === undefined && dy <= 0.02 * dx);
  const isUpright = along === 'y' || (along === undefined && dx <= 0.02 * dy);
  if (!isLevel && !isUpright) return slanting(dimension);
  const inside = Math.max(0, isLevel ? part.bottom - around.bottom : part.right - around.right);
  const last = MOST_BEYOND + Math.ceil(inside / NEXT);
  for (let track = 0; ; track++) {
    const far = FIRST + NEXT * track;
    const placed = isLevel ? level(dimension, around.bottom + far) : upright(dimension, around.right + far);
    const isFree =
      others.every(({ box }) => !boxesOverlap(box, placed.box)) &&
      obstacles.every((box) => !boxesOverlap(box, placed.box)) &&
      lines.every((line) => lengthInside(line, placed.words) === 0);
    if (isFree || track > last) return placed;
  }
}

const widthWithBalloon = ({ text, balloon }: PaperDimension): number =>
  widthOfText(text, SIZE) + (balloon === undefined ? 0 : 2 * BALLOON + 2);

/**
 * Where the text of a dimension from 0 to `long` has its middle, and how far the dimension line reaches under it: between the ends, or
 * beyond the far one where there is no room between them.
 */
function alongLine(long: number, width: number): { readonly middle: number; readonly reach: number } {
  if (width + 1 <= long) return { middle: long / 2, reach: long };
  const start = long + ARROW + 1.5;
  return { middle: start + width / 2, reach: start + width };
}

function level(dimension: PaperDimension, y: number): Placed {
  const [a, b] = dimension.from[0] <= dimension.to[0] ? [dimension.from, dimension.to] : [dimension.to, dimension.from];
  const width = widthWithBalloon(dimension);
  const { middle, reach } = alongLine(b[0] - a[0], width);
  const words: Box = {
    left: a[0] + middle - width / 2,
    right: a[0] + middle + width / 2,
    top: y - SIZE - 3.4,
    bottom: y + 1.2,
  };
  const lines: Segment[] = [
    [a[0], a[1], a[0], y + BEYOND],
    [b[0], b[1], b[0], y + BEYOND],
    [a[0], y, a[0] + reach, y],
  ];
  return {
    box: { ...words, left: Math.min(a[0], words.left) - 1, right: Math.max(b[0], words.right) + 1 },
    words,
    lines,
    elements: elements(dimension, lines, [a[0], y], [b[0], y], [a[0] + middle, y - 1.2], 0),
  };
}

/** Read from the right: upward. */
function upright(dimension: PaperDimension, x: number): Placed {
  const [a, b] = dimension.from[1] <= dimension.to[1] ? [dimension.from, dimension.to] : [dimension.to, dimension.from];
  const width = widthWithBalloon(dimension);
  const { middle, reach } = alongLine(b[1] - a[1], width);
  const words: Box = {
    left: x - SIZE - 3.4,
    right: x + 1.2,
    top: b[1] - middle - width / 2,
    bottom: b[1] - middle + width / 2,
  };
  const lines: Segment[] = [
    [a[0], a[1], x + BEYOND, a[1]],
    [b[0], b[1], x + BEYOND, b[1]],
    [x, b[1] - reach, x, b[1]],
  ];
  return {
    box: { ...words, top: Math.min(a[1], words.top) - 1, bottom: Math.max(b[1], words.bottom) + 1 },
    words,
    lines,
    elements: elements(dimension, lines, [x, b[1]], [x, a[1]], [x - 1.2, b[1] - middle], -90),
  };
}

function slanting(dimension: PaperDimension): Placed {
  const [a, b] = dimension.from[0] <= dimension.to[0] ? [dimension.from, dimension.to] : [dimension.to, dimension.from];
  const middle: Vec2 = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const angle = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
  const half = widthWithBalloon(dimension) / 2 + SIZE;
  const turn = (angle * Math.PI) / 180;
  const at: Vec2 = [middle[0] + 1.2 * Math.sin(turn), middle[1] - 1.2 * Math.cos(turn)];
  const [w, h] = [half * Math.abs(Math.cos(turn)) + SIZE, half * Math.abs(Math.sin(turn)) + SIZE];
  const box: Box = { left: at[0] - w, right: at[0] + w, top: at[1] - h, bottom: at[1] + h };
  const lines: Segment[] = [[a[0], a[1], b[0], b[1]]];
  return { box, words: box, lines, elements: elements(dimension, lines, a, b, at, angle) };
}

/** Lines, arrow heads at both ends, the text above the line, the row's number in a circle before it. */
function elements(
  dimension: PaperDimension,
  lines: readonly Segment[],
  start: Vec2,
  end: Vec2,
  at: Vec2,
  turn: number,
): string[] {
  const { text, balloon } = dimension;
  const long = Math.hypot(end[0] - start[0], end[1] - start[1]);
  const [ux, uy] = long > 0 ? [(end[0] - start[0]) / long, (end[1] - start[1]) / long] : [1, 0];
  // In a short one the arrows stand outside and point in.
  const inward = long < 3 * ARROW ? -1 : 1;
  const head = ([x, y]: Vec2, way: number): string => {
    const [bx, by] = [x + way * ARROW * ux, y + way * ARROW * uy];
    return `M${num(x)} ${num(y)}L${num(bx - 0.45 * uy)} ${num(by + 0.45 * ux)}L${num(bx + 0.45 * uy)} ${num(by - 0.45 * ux)}Z`;
  };
  const shift = balloon === undefined ? 0 : BALLOON + 1;
  const turned = (turn * Math.PI) / 180;
  const along = (by: number): Vec2 => [at[0] + by * Math.cos(turned), at[1] + by * Math.sin(turned)];
  const circle = ((): string[] => {
    if (balloon === undefined) return [];
    const half = widthOfText(text, SIZE) / 2;
    const [cx, cy] = along(shift - half - BALLOON - 1.4);
    const center: Vec2 = [cx + 1.4 * Math.sin(turned), cy - 1.4 * Math.cos(turned)];
    return balloonElements(balloon, center, BALLOON, turn);
  })();
  return [
    `<path ${strokeAttributes('thin')} d="${lines.map(([x0, y0, x1, y1]) => `M${num(x0)} ${num(y0)}L${num(x1)} ${num(y1)}`).join('')}"/>`,
    `<path class="fill" fill="#16191d" d="${head(start, inward)}${head(end, -inward)}"/>`,
    textElement(text, along(shift), { size: SIZE, align: 'middle', turn }),
    ...circle,
  ];
}

/** A number in a circle. */
export function balloonElements(number: number, [x, y]: Vec2, radius: number, turn = 0): string[] {
  const size = (String(number).length > 2 ? 0.62 : 0.8) * radius;
  const down = size / 2;
  const turned = (turn * Math.PI) / 180;
  return [
    `<circle class="paper-line" cx="${num(x)}" cy="${num(y)}" r="${num(radius)}" fill="#ffffff" stroke="#16191d" stroke-width="0.25"/>`,
    textElement(String(number), [x - down * Math.sin(turned), y + down * Math.cos(turned)], {
      size,
      align: 'middle',
      turn,
    }),
  ];
}
