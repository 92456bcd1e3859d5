import { FettleError, type Vec3, vec3 } from '@fettle/geom';
import { counted } from '../report/number-text.js';
import type { StepItem, Turn, WirePiece } from './item.js';

const { cross, distance, dot, length } = vec3;

/**
 * Refuses what no CAD program could open.
 * Errors: `no-items`, `no-name`, `name-taken`, `not-finite`, `size-not-positive`, `span-empty`, `angle-out-of-range`, `not-unit`,
 * `not-square`, `wire-broken`.
 */
export function checkItems(items: readonly StepItem[]): void {
  if (items.length === 0)
    throw new FettleError('no-items', 'STEP not written: there is nothing to write. Give it at least one feature.');
  const names = new Map<string, number>();
  items.forEach((item, i) => {
    const { name } = item;
    if (name === '')
      throw new FettleError('no-name', `STEP not written: item ${i} of ${counted(items.length, 'item')} has no name.`);
    const other = names.get(name);
    if (other !== undefined)
      throw new FettleError(
        'name-taken',
        `STEP not written: items ${other} and ${i} are both named "${name}". Nobody could tell them apart in CAD: rename one.`,
      );
    names.set(name, i);
    checkItem(item);
  });
}

function checkItem(item: StepItem): void {
  const refuse = (code: string, what: string) => new FettleError(code, `STEP not written: ${item.name}: ${what}.`);
  const finite = (what: string, values: readonly number[]) => {
    if (!values.every(Number.isFinite)) throw refuse('not-finite', `its ${what} is no number: ${values.join(', ')}`);
  };
  const place = (what: string, p: Vec3) => finite(what, p);
  const unit = (what: string, d: Vec3) => {
    finite(what, d);
    if (Math.abs(length(d) - 1) > 1e-9) throw refuse('not-unit', `its ${what} has length ${length(d)}, not 1`);
  };
  const positive = (what: string, value: number) => {
    finite(what, [value]);
    if (value <= 0) throw refuse('size-not-positive', `its ${what} is ${value} mm; it must be more than 0`);
  };
  const span = ([from, to]: readonly [number, number]) => {
    finite('span', [from, to]);
    if (!(to - from > SMALLEST)) throw refuse('span-empty', `it goes from ${from} to ${to} mm, which is no way at all`);
  };
  const square = (what: string, d: Vec3, to: Vec3) => {
    finite(what, d);
    if (length(cross(d, to)) <= 1e-9 * length(d))
      throw refuse('not-square', `its ${what} runs along its axis or normal`);
  };
  const within = (what: string, angle: number, most: number, mayReach = false) => {
    finite(what, [angle]);
    if (!(angle > 0 && (angle < most || (mayReach && angle <= most + 1e-9))))
      throw refuse(
        'angle-out-of-range',
        `its ${what} is ${angle}; it must be more than 0 and less than ${most} radians`,
      );
  };
  const turn = (given: Turn | undefined, axis: Vec3) => {
    if (given === undefined) return;
    square('start of turn', given.start, axis);
    within('sweep', given.sweep, 2 * Math.PI);
  };
  const perpendicular = (what: string, a: Vec3, b: Vec3) => {
    if (Math.abs(dot(a, b)) > 1e-9) throw refuse('not-square', `its ${what} are not square to each other`);
  };
  const piece = (part: WirePiece) => {
    place('start', part.start);
    place('end', part.end);
    if (part.kind === 'line') return positive('line', distance(part.start, part.end));
    place('center', part.center);
    unit('normal', part.normal);
    positive('radius', distance(part.start, part.center));
    within('sweep', part.sweep, 2 * Math.PI, true);
  };
  const chain = (pieces: readonly WirePiece[]) => {
    pieces.forEach(piece);
    pieces.forEach((part, i) => {
      const gap = i > 0 ? distance(pieces[i - 1]!.end, part.start) : 0;
      if (gap > JOINED) throw refuse('wire-broken', `its piece ${i} starts ${gap} mm from where piece ${i - 1} ends`);
    });
  };

  switch (item.kind) {
    case 'plane':
      place('point', item.point);
      unit('normal', item.normal);
      square('first side', item.along, item.normal);
      for (const [i, what] of ['length', 'width'].entries()) positive(what, item.size[i]!);
      return;
    case 'cylinder':
      place('point', item.point);
      unit('direction', item.direction);
      positive('radius', item.radius);
      span(item.span);
      turn(item.turn, item.direction);
      return;
    case 'cone':
      place('apex', item.apex);
      unit('direction', item.direction);
      within('half-angle', item.halfAngle, Math.PI / 2);
      span(item.span);
      if (item.span[0] < 0)
        throw refuse('span-empty', `it begins ${-item.span[0]} mm before its apex, where it has no surface`);
      turn(item.turn, item.direction);
      return;
    case 'sphere':
      place('center', item.center);
      positive('radius', item.radius);
      if (item.cap) {
        finite('cap', item.cap.toward);
        if (length(item.cap.toward) === 0) throw refuse('not-unit', 'its cap has no direction');
        within('cap', item.cap.halfAngle, Math.PI);
      }
      return;
    case 'line':
      place('point', item.point);
      unit('direction', item.direction);
      span(item.span);
      return;
    case 'circle':
      place('center', item.center);
      unit('normal', item.normal);
      positive('radius', item.radius);
      return;
    case 'ellipse':
      place('center', item.center);
      unit('normal', item.normal);
      unit('direction', item.direction);
      perpendicular('normal and direction', item.normal, item.direction);
      positive('major radius', item.major);
      positive('minor radius', item.minor);
      return;
    case 'slot':
      place('center', item.center);
      unit('normal', item.normal);
      unit('direction', item.direction);
      perpendicular('normal and direction', item.normal, item.direction);
      positive('width', item.width);
      finite('length', [item.length]);
      if (item.length < item.width)
        throw refuse(
          'size-not-positive',
          `it is ${item.length} mm long and ${item.width} mm wide: longer than wide, or a circle`,
        );
      return;
    case 'point':
      place('position', item.position);
      return;
    case 'frame':
      place('origin', item.origin);
      unit('x', item.x);
      unit('y', item.y);
      perpendicular('x and y', item.x, item.y);
      if (item.size !== undefined) positive('size', item.size);
      return;
    case 'wire':
      if (item.chains.length === 0 || item.chains.some((pieces) => pieces.length === 0))
        throw refuse('no-items', 'it has no pieces, or a chain without any');
      for (const pieces of item.chains) chain(pieces);
      return;
  }
}

/** The file says that points closer than this are one, mm. */
const JOINED = 1e-6;
const SMALLEST = 1e-6;
