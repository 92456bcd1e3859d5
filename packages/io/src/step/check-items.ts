import { FettleError, type Vec3, vec3 } from '@fettle/geom';
import { counted } from '../text/number-text.js';
import type { StepItem, Turn, WirePiece } from './item.js';
import { ItemRefusal, SMALLEST } from './item-refusal.js';

const { distance, length } = vec3;

/**
 * Refuses what no CAD program could open.
 * Errors: `no-items`, `kind-unknown`, `no-name`, `name-taken`, `value-missing`, `not-finite`, `size-not-positive`, `span-empty`, `angle-out-of-range`, `not-unit`,
 * `not-square`, `wire-broken`.
 */
export function checkItems(items: readonly StepItem[]): void {
  const given: boolean = Array.isArray(items);
  if (!given || items.length === 0)
    throw new FettleError('no-items', 'STEP not written: there is nothing to write. Give it at least one feature.');
  const names = new Map<string, number>();
  items.forEach((item, i) => {
    const { name, kind } = (item ?? {}) as Partial<StepItem>;
    if (!Object.hasOwn(checks, String(kind)))
      throw new FettleError(
        'kind-unknown',
        `STEP not written: item ${i} of ${counted(items.length, 'item')} is of the kind "${kind}". It can be ${either(Object.keys(checks))}.`,
      );
    if (typeof name !== 'string' || name === '')
      throw new FettleError('no-name', `STEP not written: item ${i} of ${counted(items.length, 'item')} has no name.`);
    const other = names.get(name);
    if (other !== undefined)
      throw new FettleError(
        'name-taken',
        `STEP not written: items ${other} and ${i} are both named "${name}". Nobody could tell them apart in CAD: rename one.`,
      );
    names.set(name, i);
    (checks[item.kind] as Check<StepItem>)(item, new ItemRefusal(name));
  });
}

type Check<I> = (item: I, must: ItemRefusal) => void;

const checks: { readonly [K in StepItem['kind']]: Check<Extract<StepItem, { kind: K }>> } = {
  plane({ point, normal, along, size }, must) {
    must.vector('point', point);
    must.unit('normal', normal);
    must.across('first side', along, normal);
    must.finite('size, a length and a width', size);
    must.positive('length', size[0]);
    must.positive('width', size[1]);
  },
  cylinder({ point, direction, radius, span, turn }, must) {
    must.vector('point', point);
    must.unit('direction', direction);
    must.positive('radius', radius);
    must.span(span);
    checkTurn(turn, direction, must);
  },
  cone({ apex, direction, halfAngle, span, turn }, must) {
    must.vector('apex', apex);
    must.unit('direction', direction);
    must.angle('half-angle', halfAngle, Math.PI / 2);
    must.span(span);
    if (span[0] < 0) must.refuse('span-empty', `it begins ${-span[0]} mm before its apex, where it has no surface`);
    checkTurn(turn, direction, must);
  },
  sphere({ center, radius, cap }, must) {
    must.vector('center', center);
    must.positive('radius', radius);
    if (cap === undefined) return;
    must.vector('cap', cap.toward);
    if (length(cap.toward) === 0) must.refuse('not-unit', 'its cap has no direction');
    must.angle('cap', cap.halfAngle, Math.PI);
  },
  line({ point, direction, span }, must) {
    must.vector('point', point);
    must.unit('direction', direction);
    must.span(span);
  },
  circle({ center, normal, radius }, must) {
    must.vector('center', center);
    must.unit('normal', normal);
    must.positive('radius', radius);
  },
  ellipse(ellipse, must) {
    checkFlatAxes(ellipse, must);
    must.positive('major radius', ellipse.major);
    must.positive('minor radius', ellipse.minor);
  },
  slot(slot, must) {
    checkFlatAxes(slot, must);
    must.positive('width', slot.width);
    must.finite('length', [slot.length]);
    if (slot.length < slot.width)
      must.refuse(
        'size-not-positive',
        `it is ${slot.length} mm long and ${slot.width} mm wide: longer than wide, or a circle`,
      );
  },
  point({ position }, must) {
    must.vector('position', position);
  },
  frame({ origin, x, y, size }, must) {
    must.vector('origin', origin);
    must.unit('x', x);
    must.unit('y', y);
    must.square('x and y', x, y);
    if (size !== undefined) must.positive('size', size);
  },
  wire({ chains }, must) {
    if (!Array.isArray(chains)) must.refuse('value-missing', 'it has no chains of lines and arcs');
    if (chains.length === 0 || chains.some((pieces) => pieces.length === 0))
      must.refuse('no-items', 'it has no pieces, or a chain without any');
    for (const pieces of chains) checkChain(pieces, must);
  },
};

function checkTurn(turn: Turn | undefined, axis: Vec3, must: ItemRefusal): void {
  if (turn === undefined) return;
  must.across('start of turn', turn.start, axis);
  must.angle('sweep', turn.sweep, 2 * Math.PI);
}

interface FlatAxes {
  readonly center: Vec3;
  readonly normal: Vec3;
  readonly direction: Vec3;
}

function checkFlatAxes({ center, normal, direction }: FlatAxes, must: ItemRefusal): void {
  must.vector('center', center);
  must.unit('normal', normal);
  must.unit('direction', direction);
  must.square('normal and direction', normal, direction);
}

function checkChain(pieces: readonly WirePiece[], must: ItemRefusal): void {
  pieces.forEach((piece, i) => {
    checkPiece(piece, must);
    const gap = i > 0 ? distance(pieces[i - 1]!.end, piece.start) : 0;
    if (gap > SMALLEST) must.refuse('wire-broken', `its piece ${i} starts ${gap} mm from where piece ${i - 1} ends`);
  });
}

const either = (words: readonly string[]): string => `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;

function checkPiece(piece: WirePiece, must: ItemRefusal): void {
  must.vector('start', piece.start);
  must.vector('end', piece.end);
  if (piece.kind === 'line') {
    must.positive('line', distance(piece.start, piece.end));
    return;
  }
  must.vector('center', piece.center);
  must.unit('normal', piece.normal);
  must.positive('radius', distance(piece.start, piece.center));
  must.angle('sweep', piece.sweep, 2 * Math.PI, true);
}
