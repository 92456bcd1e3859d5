import type { Vec3 } from '@fettle/geom';
import { type Signal, signal } from '@preact/signals';
import type { Session } from '../session/session.js';
import type { PieceView } from '../worker/protocol.js';
import { between, boxOf, type CurvePlace, type DrawnCurve, nearestPlace } from './curve-pick.js';
import { keepCut } from './cutting.js';
import { type DrawnSection, flat } from './drawn-section.js';
import type { SheetRig } from './sheet-rig.js';
import { MARGIN, type PickedStretch, pickedPiece, pickStretch, type StretchShape } from './stretching.js';

type Vec2 = readonly [number, number];

/** A pick counts if it is this near to a curve, pixels. */
const NEAR = 14;
/** An outline no longer than this share of the drawing is picked whole. */
const SMALL = 0.45;
/** Points of an outline that are enough to tell its box. */
const ENOUGH = 300;

/** What a pick would take: a piece of the profile, or a curve. */
export interface Stop {
  readonly curve: DrawnCurve;
  readonly piece?: PieceView;
}

/** What is picked from. */
export interface Pickable {
  readonly id: string;
  readonly drawn: DrawnSection;
  /** Of the profile, where it is shown. */
  readonly pieces: readonly PieceView[];
}

/** Picking on the drawing of a section, by pointer or keyboard. Places are mm of the sheet. */
export class Picking {
  /** Place of a curve the pointer is at. */
  readonly hovered: Signal<CurvePlace | undefined> = signal(undefined);
  /** The piece the pointer is at. */
  readonly near: Signal<PieceView | undefined> = signal(undefined);
  /** First end of a stretch. */
  readonly begun: Signal<CurvePlace | undefined> = signal(undefined);
  /** What the keyboard is at: number of the stop. */
  readonly walked: Signal<number | undefined> = signal(undefined);
  readonly box: Signal<readonly [Vec2, Vec2] | undefined> = signal(undefined);
  readonly #session: Session;
  readonly #rig: Signal<SheetRig>;
  #from: Pickable = { id: '', drawn: nothing, pieces: [] };
  #stops: readonly Stop[] = [];

  constructor(session: Session, rig: Signal<SheetRig>) {
    this.#session = session;
    this.#rig = rig;
  }

  /** Takes what is drawn now. */
  use(from: Pickable): void {
    const { drawn, pieces, id } = from;
    const before = this.#from;
    if (drawn === before.drawn && pieces === before.pieces) return;
    const walked = this.#stops[this.walked.peek() ?? -1];
    this.#from = from;
    const withPieces = new Set(pieces.map(({ polyline }) => polyline));
    this.#stops = [
      ...pieces.map((piece) => ({ piece, curve: { closed: false, points: flat(drawn.axes, piece.line) } })),
      ...drawn.curves.flatMap((curve, c) => (withPieces.has(c) ? [] : [{ curve }])),
    ];
    this.hovered.value = undefined;
    this.near.value = undefined;
    this.begun.value = undefined;
    // Once lines and arcs are found, the keyboard is at the one where it was at the curve.
    this.walked.value = walked && id === before.id ? this.#stopBy(middleOf(walked)) : undefined;
  }

  /** The number of the stop nearest to a place. */
  #stopBy(at: Vec2): number | undefined {
    return nearestPlace(
      this.#stops.map(({ curve }) => curve),
      at,
    )?.curve;
  }

  get stops(): readonly Stop[] {
    return this.#stops;
  }

  /** The curve between where the stretch began and the pointer. */
  live(): Float64Array | undefined {
    const [start, end] = [this.begun.value, this.hovered.value];
    const curve = start && end?.curve === start.curve && this.#from.drawn.curves[start.curve];
    return curve && start && end ? between(curve, start, end) : undefined;
  }

  hover(at: Vec2): void {
    const begun = this.begun.peek();
    const found = nearestPlace(this.#from.drawn.curves, at, begun?.curve);
    const reach = NEAR * this.#rig.peek().scale * (begun ? 4 : 1);
    this.hovered.value = found && found.off < reach ? found : undefined;
    this.near.value = begun ? undefined : this.#pieceAt(at);
  }

  leave(): void {
    this.hovered.value = undefined;
    this.near.value = undefined;
  }

  /** Lets go of the end of a stretch. */
  letGo(): void {
    this.begun.value = undefined;
  }

  /** Begins a stretch where a curve is near. @returns whether one is */
  begin(at: Vec2): boolean {
    const found = nearestPlace(this.#from.drawn.curves, at);
    if (!found || found.off > NEAR * this.#rig.peek().scale) return false;
    this.begun.value = found;
    this.near.value = undefined;
    return true;
  }

  /** Moves the other end of the stretch, however far from its curve the pointer is. */
  reach(at: Vec2): void {
    const begun = this.begun.peek();
    if (begun) this.hovered.value = nearestPlace(this.#from.drawn.curves, at, begun.curve);
  }

  /** Picks what lies between the place where the stretch began and another. */
  async finish(at: Vec2, isSecond = false): Promise<void> {
    const begun = this.begun.peek();
    this.begun.value = undefined;
    const end = begun && nearestPlace(this.#from.drawn.curves, at, begun.curve);
    if (!begun || !end || (end.piece === begun.piece && end.share === begun.share)) return;
    const { inSpace } = this.#from.drawn;
    await this.#pick({ from: inSpace(begun.at), to: inSpace(end.at) }, end.at, undefined, isSecond);
  }

  /** Picks the piece at a place; without a profile a small outline whole, or one end of a stretch after the other. */
  async click(at: Vec2, isSecond = false): Promise<void> {
    const { drawn } = this.#from;
    if (this.begun.peek()) {
      this.reach(at);
      const isNear = (this.hovered.peek()?.off ?? Infinity) < 4 * NEAR * this.#rig.peek().scale;
      if (isNear) await this.finish(at, isSecond);
      else this.begun.value = undefined;
      return;
    }
    const piece = this.#pieceAt(at);
    if (piece) return await this.#pickPiece(piece, at, isSecond);
    if (!this.begin(at)) return;
    const { curve } = this.begun.peek()!;
    if (!this.#isSmall(drawn.curves[curve]!)) return;
    this.begun.value = undefined;
    await this.#pickCurve(drawn.curves[curve]!, at, isSecond);
  }

  /** Picks all of the section inside a box. */
  async pickBox([a, b]: readonly [Vec2, Vec2], isSecond = false): Promise<void> {
    const { inSpace, axes } = this.#from.drawn;
    const corners = [a, b, [a[0], b[1]] as const, [b[0], a[1]] as const].map(inSpace);
    // The box has a little thickness across the section.
    const across = axes.right.map(
      (_, k) => axes.right[(k + 1) % 3]! * axes.up[(k + 2) % 3]! - axes.right[(k + 2) % 3]! * axes.up[(k + 1) % 3]!,
    );
    const about = corners.flatMap((corner) =>
      [1, -1].map((side): Vec3 => [0, 1, 2].map((k) => corner[k]! + side * MARGIN * across[k]!) as unknown as Vec3),
    );
    await this.#pick({ about, margin: 0 }, b, undefined, isSecond);
  }

  walk(by: number): void {
    const count = this.#stops.length;
    if (count === 0) return;
    this.walked.value = ((this.walked.peek() ?? (by > 0 ? -1 : 0)) + by + count) % count;
  }

  /** Picks what the keyboard is at. */
  async pickWalked(isSecond = false): Promise<void> {
    const stop = this.#stops[this.walked.peek() ?? -1];
    if (!stop) return;
    const at = middleOf(stop);
    if (stop.piece) await this.#pickPiece(stop.piece, at, isSecond);
    else await this.#pickCurve(stop.curve, at, isSecond);
  }

  #isSmall(curve: DrawnCurve): boolean {
    const { min, max } = boxOf(curve);
    const { width, height, scale } = this.#rig.peek();
    return curve.closed && max[0] - min[0] < SMALL * width * scale && max[1] - min[1] < SMALL * height * scale;
  }

  #pieceAt(at: Vec2): PieceView | undefined {
    const pieces = this.#stops.filter(({ piece }) => piece);
    const found = nearestPlace(
      pieces.map(({ curve }) => curve),
      at,
    );
    return found && found.off < NEAR * this.#rig.peek().scale ? pieces[found.curve]!.piece : undefined;
  }

  async #pickPiece(piece: PieceView, at: Vec2, isSecond: boolean): Promise<void> {
    await this.#pick(pickedPiece(piece), at, piece.kind === 'line' ? 'line' : 'circle', isSecond);
  }

  async #pickCurve({ closed, points }: DrawnCurve, at: Vec2, isSecond: boolean): Promise<void> {
    const { inSpace } = this.#from.drawn;
    const place = (i: number): Vec3 => inSpace([points[2 * i]!, points[2 * i + 1]!]);
    const count = points.length / 2;
    if (!closed) return await this.#pick({ from: place(0), to: place(count - 1) }, at, undefined, isSecond);
    const step = Math.max(1, Math.floor(count / ENOUGH));
    const about = Array.from({ length: Math.ceil(count / step) }, (_, k) => place(k * step));
    await this.#pick({ about, margin: MARGIN }, at, 'circle', isSecond);
  }

  async #pick(picked: PickedStretch, at: Vec2, shape: StretchShape | undefined, isSecond: boolean): Promise<void> {
    const session = this.#session;
    if (session.cutting.peek() && !(await keepCut(session))) return;
    const section = session.section.peek() ?? this.#from.id;
    const place = this.#from.drawn.inSpace(at);
    await pickStretch(session, picked, { section, at: place, ...(shape && { shape }), isSecond });
  }
}

function middleOf({ curve: { points } }: Stop): Vec2 {
  const middle = 2 * ((points.length / 4) | 0);
  return [points[middle]!, points[middle + 1]!];
}

const nothing: DrawnSection = {
  axes: { origin: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], names: ['', ''] },
  curves: [],
  dots: undefined,
  count: 0,
  inSpace: ([x, y]) => [x, y, 0],
};
