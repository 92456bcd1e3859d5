import type { Vec2 } from '@fettle/geom';
import type { Box, Segment } from '../labels/box.js';
import { type LabelRequest, type PlacedLabel, placeLabels } from '../labels/place-labels.js';
import { DATUM_BOX, datumElements } from './datum-symbol.js';
import type { Drawing } from './drawing.js';
import { strokeAttributes } from './line-type.js';
import { ARROW, balloonElements } from './linear-dimensions.js';
import { num, textElement, widthOfText } from './svg-text.js';

/** What labels are placed among, mm on paper. */
export interface LabelRoom {
  readonly area: Box;
  readonly obstacles: readonly Box[];
  readonly lines: readonly Segment[];
  /** Radius of balloons. */
  readonly balloon: number;
}

/** Datum letters, words and balloons laid out. */
export interface LaidLabels {
  readonly elements: readonly string[];
  readonly boxes: readonly Box[];
  /** Numbers of balloons there was no room for. */
  readonly leftOut: readonly number[];
}

const TEXT = 3;
/** From an anchor to the edge of its balloon, at best. */
const LEADER = 7;

/** Places datum letters, words and balloons where they cover nothing. */
export function layLabels(
  drawing: Pick<Drawing, 'datums' | 'labels' | 'balloons'>,
  toPaper: (p: Vec2) => Vec2,
  { area, obstacles, lines, balloon }: LabelRoom,
): LaidLabels {
  const { datums, labels } = drawing;
  const groups = grouped(drawing.balloons, toPaper);
  const requests: LabelRequest[] = [
    ...datums.map(({ at, outward }) => ({
      anchor: toPaper(at),
      width: DATUM_BOX,
      height: DATUM_BOX,
      ...(outward && { prefer: turned(outward) }),
    })),
    ...labels.map(({ at, text, prefer }) => {
      const anchor = toPaper(at);
      return {
        anchor,
        width: widthOfText(text, TEXT) + 2,
        height: TEXT + 2.4,
        ...(prefer && { prefer: turned(prefer) }),
        end: (box: Box) => endOfShelf(box, anchor),
      };
    }),
    ...groups.map(({ anchor, numbers }) => ({
      anchor,
      width: 2 * balloon * numbers.length,
      height: 2 * balloon,
      end: (box: Box) => nearestInRow(box, anchor, balloon),
    })),
  ];
  const placed = placeLabels(requests, { area, gap: 1.2, reach: LEADER + balloon, obstacles, lines });
  const ofLabels = placed.slice(datums.length);
  const ofGroups = ofLabels.slice(labels.length);
  return {
    elements: [
      ...labels.flatMap(({ text, arrow }, i) => (ofLabels[i] ? wordElements(text, ofLabels[i], arrow) : [])),
      ...ofGroups.flatMap((label) => (label ? [leader(label)] : [])),
      ...datums.flatMap(({ letter, outward }, i) => {
        const label = placed[i];
        return label ? datumElements(letter, label.anchor, label.box, outward && turned(outward)) : [];
      }),
      ...groups.flatMap(({ numbers }, i) => (ofGroups[i] ? rowOfBalloons(numbers, ofGroups[i], balloon) : [])),
    ],
    boxes: placed.flatMap((label) => (label ? [label.box] : [])),
    leftOut: groups.flatMap(({ numbers }, i) => (ofGroups[i] ? [] : numbers)),
  };
}

/** On paper y runs down. */
const turned = ([x, y]: Vec2): Vec2 => [x, -y];

/** Balloons whose places are no farther apart than this share a leader, as many as this at most, mm on paper. */
const SAME_PLACE = 1.5;
const MOST_IN_ROW = 4;

interface BalloonGroup {
  readonly anchor: Vec2;
  readonly numbers: number[];
}

function grouped(balloons: Drawing['balloons'], toPaper: (p: Vec2) => Vec2): BalloonGroup[] {
  const groups: BalloonGroup[] = [];
  for (const { number, at } of balloons) {
    const anchor = toPaper(at);
    const group = groups.find(
      ({ anchor: [x, y], numbers }) =>
        numbers.length < MOST_IN_ROW && Math.hypot(x - anchor[0], y - anchor[1]) <= SAME_PLACE,
    );
    if (group) group.numbers.push(number);
    else groups.push({ anchor, numbers: [number] });
  }
  return groups;
}

/** Words on a shelf, which a leader joins to their place, with an arrow there or without. */
function wordElements(text: string, label: PlacedLabel, arrow = false): string[] {
  const { box, center } = label;
  return [
    leader(label),
    ...(arrow ? [arrowHead(label)] : []),
    `<path ${strokeAttributes('thin')} d="M${num(box.left)} ${num(shelfOf(box))}H${num(box.right)}"/>`,
    textElement(text, [center[0], box.bottom - 1.6], { size: TEXT, align: 'middle' }),
  ];
}

const leader = ({ anchor, end }: PlacedLabel): string =>
  `<path ${strokeAttributes('thin')} d="M${num(anchor[0])} ${num(anchor[1])}L${num(end[0])} ${num(end[1])}"/>`;

/** Closed and filled, as dimensions have them. */
function arrowHead({ anchor: [x, y], end }: PlacedLabel): string {
  const long = Math.hypot(end[0] - x, end[1] - y) || 1;
  const [ux, uy] = [(end[0] - x) / long, (end[1] - y) / long];
  const [bx, by] = [x + ARROW * ux, y + ARROW * uy];
  return `<path class="fill" fill="#16191d" d="M${num(x)} ${num(y)}L${num(bx - 0.45 * uy)} ${num(by + 0.45 * ux)}L${num(bx + 0.45 * uy)} ${num(by - 0.45 * ux)}Z"/>`;
}

const shelfOf = (box: Box): number => box.bottom - 0.6;

/** The end of the shelf that is nearer to a place. */
const endOfShelf = (box: Box, [x]: Vec2): Vec2 => [
  Math.abs(box.left - x) <= Math.abs(box.right - x) ? box.left : box.right,
  shelfOf(box),
];

/** The middle of the balloon of a row that is nearest to a place. */
function nearestInRow({ left, right, top, bottom }: Box, [x]: Vec2, radius: number): Vec2 {
  const last = Math.round((right - left) / (2 * radius)) - 1;
  const nearest = Math.min(Math.max(Math.round((x - left) / (2 * radius) - 0.5), 0), last);
  return [left + (2 * nearest + 1) * radius, (top + bottom) / 2];
}

function rowOfBalloons(numbers: readonly number[], { anchor, box, center }: PlacedLabel, radius: number): string[] {
  const dot = `<circle class="fill" fill="#16191d" cx="${num(anchor[0])}" cy="${num(anchor[1])}" r="0.5"/>`;
  return [
    dot,
    ...numbers.flatMap((number, i) => balloonElements(number, [box.left + (2 * i + 1) * radius, center[1]], radius)),
  ];
}
