import type { Vec3 } from '@fettle/geom';
import { sizeText } from '@fettle/io';
import type { CornerView, PieceView } from '../worker/protocol.js';
import type { DrawingAxes } from './drawing-axes.js';
import { onSheet } from './drawing-axes.js';
import type { LabelBox } from './fitted-labels.js';
import { type SheetRig, toPixels } from './sheet-rig.js';

/** What is written at a piece or a corner of a profile: pixels of its middle, and the arrow that points to what it tells of. */
export interface Dimension {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  /** Of a radius: where its leader leaves the text, and where it ends on the arc. */
  readonly from?: readonly [number, number];
  readonly to?: readonly [number, number];
  /** Of a line: degrees the text is turned by, to run along it. */
  readonly turn?: number;
}

/** Of the letters, pixels. */
const LETTER = 6.6;
const LINE = 14;
/** From what it tells of, pixels. */
const OFF = 11;
const LEADER = 22;
/** What is shorter or smaller on the screen is not dimensioned, until it is looked at nearer, pixels. */
const SHORT = 44;
const SMALL = 5;
/** Corners this near to square are drawn square and need no number, radians. */
const SQUARE = (0.25 * Math.PI) / 180;

const fixed = (value: number): string => value.toFixed(2);

/**
 * Lengths of lines, radii of arcs, diameters of full circles and the angles of corners, where there is room for them: of two that would
 * lie over each other the smaller thing's is left out.
 *
 * @param taken what else is written on the sheet
 */
export function dimensionsOf(
  pieces: readonly PieceView[],
  corners: readonly CornerView[],
  axes: DrawingAxes,
  rig: SheetRig,
  taken: readonly LabelBox[] = [],
): readonly Dimension[] {
  const flat = (place: Vec3): readonly [number, number] => toPixels(rig, onSheet(axes, place));
  const sized = [...pieces].sort((a, b) => b.length - a.length).map((piece) => ofPiece(piece, flat, rig));
  const angles = corners.map((corner) => ofCorner(corner, flat));
  return withoutOverlaps(
    [...sized, ...angles].filter((d) => d !== undefined),
    rig,
    taken,
  );
}

type Flat = (place: Vec3) => readonly [number, number];

function ofPiece(piece: PieceView, flat: Flat, rig: SheetRig): Dimension | undefined {
  const { kind, number, line, length, radius, size, center } = piece;
  const middle = ((line.length / 3 - 1) / 2) | 0;
  const at = (i: number): readonly [number, number] => flat([line[3 * i]!, line[3 * i + 1]!, line[3 * i + 2]!]);
  const named = number === undefined ? '' : `${number}: `;
  if (kind === 'line') {
    if (length / rig.scale < SHORT) return undefined;
    const [[ax, ay], [bx, by]] = [at(0), at(1)];
    const turn = upright((Math.atan2(by - ay, bx - ax) * 180) / Math.PI);
    const across = ((turn - 90) * Math.PI) / 180;
    return {
      text: `${named}${fixed(length)}`,
      x: (ax + bx) / 2 + OFF * Math.cos(across),
      y: (ay + by) / 2 + OFF * Math.sin(across),
      turn,
    };
  }
  if (length / rig.scale < SMALL || radius! / rig.scale < SMALL) return undefined;
  const [cx, cy] = flat(center!);
  if (piece.isWhole) return { text: `${named}${sizeText(size!, '⌀')}`, x: cx, y: cy };
  const [mx, my] = at(middle);
  const far = Math.hypot(mx - cx, my - cy) || 1;
  const [ux, uy] = [(mx - cx) / far, (my - cy) / far];
  const text = `${named}${sizeText(size!, 'R')}`;
  const half = Math.abs(ux) * ((LETTER * text.length) / 2) + 7;
  const [x, y] = [mx + (LEADER + half) * ux, my + (LEADER + 7) * uy];
  return { text, x, y, from: leaving(text, [x, y], [mx, my]), to: [mx, my] };
}

/** Where a line from the middle of a text to a place leaves the text. */
function leaving(text: string, [x, y]: readonly [number, number], to: readonly [number, number]): [number, number] {
  const [dx, dy] = [to[0] - x, to[1] - y];
  const part = Math.min((LETTER * text.length) / 2 / Math.abs(dx), LINE / 2 / Math.abs(dy), 1);
  return [x + part * dx, y + part * dy];
}

function ofCorner({ at, along, angle, size: told }: CornerView, flat: Flat): Dimension | undefined {
  if (Math.abs(angle - Math.PI / 2) < SQUARE) return undefined;
  const [x, y] = flat(at);
  const unit = (way: Vec3): readonly [number, number] => {
    const [tx, ty] = flat([at[0] + way[0], at[1] + way[1], at[2] + way[2]]);
    const size = Math.hypot(tx - x, ty - y) || 1;
    return [(tx - x) / size, (ty - y) / size];
  };
  const [a, b] = [unit(along[0]), unit(along[1])];
  const [mx, my] = [a[0] + b[0], a[1] + b[1]];
  const size = Math.hypot(mx, my);
  if (size < 1e-6) return undefined;
  return { text: sizeText(told), x: x + (30 * mx) / size, y: y + (30 * my) / size };
}

/** Degrees from −90 to 90, so that no text stands on its head. */
const upright = (turn: number): number => (turn > 90 ? turn - 180 : turn <= -90 ? turn + 180 : turn);

/** The first of those that lie over each other, and what lies on the sheet. */
function withoutOverlaps(
  wanted: readonly Dimension[],
  rig: SheetRig,
  taken: readonly LabelBox[],
): readonly Dimension[] {
  const boxes = [...taken];
  return wanted.filter(({ text, x, y, turn = 0 }) => {
    if (x < 0 || y < 0 || x > rig.width || y > rig.height) return false;
    const [cos, sin] = [Math.abs(Math.cos((turn * Math.PI) / 180)), Math.abs(Math.sin((turn * Math.PI) / 180))];
    const [w, h] = [LETTER * text.length, LINE];
    const [wide, high] = [(w * cos + h * sin) / 2 + 2, (w * sin + h * cos) / 2 + 1];
    const box = { left: x - wide, top: y - high, right: x + wide, bottom: y + high };
    if (boxes.some((b) => b.left < box.right && box.left < b.right && b.top < box.bottom && box.top < b.bottom))
      return false;
    boxes.push(box);
    return true;
  });
}
