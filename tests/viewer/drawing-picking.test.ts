import { signal } from '@preact/signals';
import { expect, test } from 'vitest';
import type { DrawnSection } from '../../packages/viewer/src/drawing/drawn-section.js';
import { Picking } from '../../packages/viewer/src/drawing/picking.js';
import { createSession } from '../../packages/viewer/src/session/create-session.js';
import { createMeasurer } from '../../packages/viewer/src/worker/measurer.js';
import type { PieceView } from '../../packages/viewer/src/worker/protocol.js';

// Two outlines on a sheet: a square of 20 and, to its right, one of 10, before and after they are told apart into lines.

const square = (x: number, size: number) => ({
  closed: true,
  points: Float64Array.of(x, 0, x + size, 0, x + size, size, x, size),
});
const axes = { origin: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], names: ['x', 'y'] } as const;
const drawn: DrawnSection = {
  axes,
  curves: [square(0, 20), square(40, 10)],
  dots: undefined,
  count: 8,
  inSpace: ([x, y]) => [x, y, 0],
};
/** A side of a square as a line of its profile. */
const side = (polyline: number, from: readonly [number, number], to: readonly [number, number]): PieceView => {
  const [start, end] = [[...from, 0] as const, [...to, 0] as const];
  return {
    kind: 'line',
    polyline,
    isWhole: false,
    isLongWay: false,
    start,
    end,
    first: start,
    last: end,
    line: Float64Array.of(...start, ...end),
    length: Math.hypot(to[0] - from[0], to[1] - from[1]),
    rms: 0,
    max: 0,
  };
};
const sides = (polyline: number, x: number, size: number): PieceView[] => [
  side(polyline, [x, 0], [x + size, 0]),
  side(polyline, [x + size, 0], [x + size, size]),
  side(polyline, [x + size, size], [x, size]),
  side(polyline, [x, size], [x, 0]),
];

test('the keyboard stays where it is on the drawing when lines are found meanwhile, and walks on from there', () => {
  const session = createSession({ measurer: createMeasurer('http://localhost/') });
  const picking = new Picking(session, signal({ x: 0, y: 0, scale: 0.1, width: 800, height: 400 }));
  picking.use({ id: 'section-1', drawn, pieces: [] });
  picking.walk(1);
  picking.walk(1);
  // At the second square, whose middle point is its upper right corner.
  expect(picking.stops[picking.walked.value!]!.curve).toBe(drawn.curves[1]);
  picking.use({ id: 'section-1', drawn, pieces: [...sides(0, 0, 20), ...sides(1, 40, 10)] });
  const { piece } = picking.stops[picking.walked.value!]!;
  expect(piece?.polyline).toBe(1);
  expect([piece!.start, piece!.end]).toContainEqual([50, 10, 0]);
  const at = picking.walked.value!;
  picking.walk(1);
  expect(picking.walked.value).toBe((at + 1) % 8);

  // The drawing of another section begins anew.
  picking.use({ id: 'section-2', drawn: { ...drawn }, pieces: [] });
  expect(picking.walked.value).toBeUndefined();
});
