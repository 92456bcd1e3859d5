import fc from 'fast-check';
import { expect, test } from 'vitest';
import { between, boxOf, type DrawnCurve, nearestPlace } from '../../packages/viewer/src/drawing/curve-pick.js';
import {
  barLength,
  fittedSheet,
  pannedSheet,
  type SheetRig,
  toPixels,
  toSheet,
  zoomedSheet,
} from '../../packages/viewer/src/drawing/sheet-rig.js';

const circle = (n: number, radius = 10): DrawnCurve => ({
  closed: true,
  points: Float64Array.from({ length: 2 * n }, (_, i) => {
    const turn = (2 * Math.PI * Math.floor(i / 2)) / n;
    return radius * (i % 2 === 0 ? Math.cos(turn) : Math.sin(turn));
  }),
});
const stair: DrawnCurve = { closed: false, points: Float64Array.of(0, 0, 10, 0, 10, 10, 20, 10) };
const lengthOf = (line: Float64Array): number => {
  let sum = 0;
  for (let i = 2; i < line.length; i += 2) sum += Math.hypot(line[i]! - line[i - 2]!, line[i + 1]! - line[i - 1]!);
  return sum;
};

test('the nearest place lies on the curve, on the right one of several', () => {
  const found = nearestPlace([circle(360, 50), stair], [12, 7])!;
  expect(found.curve).toBe(1);
  expect(found.at).toEqual([10, 7]);
  expect(found.off).toBe(2);
  expect(nearestPlace([circle(360, 50), stair], [12, 7], 0)!.curve).toBe(0);
  expect(nearestPlace([], [0, 0])).toBeUndefined();
});

test('a stretch of an open curve runs from pick to pick, whichever came first', () => {
  const a = nearestPlace([stair], [4, 0])!;
  const b = nearestPlace([stair], [15, 10])!;
  expect([...between(stair, a, b)]).toEqual([4, 0, 10, 0, 10, 10, 15, 10]);
  expect([...between(stair, b, a)]).toEqual([4, 0, 10, 0, 10, 10, 15, 10]);
});

test('around a closed curve the stretch takes the shorter way: as long as the arc between the picks', () => {
  const curve = circle(720);
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 6.28, noNaN: true }),
      fc.double({ min: 0.05, max: 3, noNaN: true }),
      (from, by) => {
        const pick = (turn: number) => nearestPlace([curve], [10 * Math.cos(turn), 10 * Math.sin(turn)])!;
        const line = between(curve, pick(from), pick(from + by));
        expect(Math.abs(lengthOf(line) - 10 * by)).toBeLessThan(0.02);
      },
    ),
    { seed: 3, numRuns: 200 },
  );
});

test('the box about a curve', () => {
  expect(boxOf(stair)).toEqual({ min: [0, 0], max: [20, 10] });
});

const rig: SheetRig = { x: 3, y: -2, scale: 0.25, width: 800, height: 300 };

test('pixels and millimeters of the sheet are each other’s inverse; y goes up', () => {
  expect(toPixels(rig, [3, -2])).toEqual([400, 150]);
  expect(toPixels(rig, [3, -1])).toEqual([400, 146]);
  expect(toSheet(rig, ...toPixels(rig, [7.25, 11]))).toEqual([7.25, 11]);
});

test('zooming keeps the place under the pointer, panning moves with it', () => {
  const before = toSheet(rig, 120, 40);
  const after = toSheet(zoomedSheet(rig, 3, 120, 40), 120, 40);
  expect(after[0]).toBeCloseTo(before[0], 12);
  expect(after[1]).toBeCloseTo(before[1], 12);
  expect(toPixels(pannedSheet(rig, 30, -20), before)[0]).toBeCloseTo(150, 9);
  expect(toPixels(pannedSheet(rig, 30, -20), before)[1]).toBeCloseTo(20, 9);
});

test('a fitted sheet holds every point, and the scale bar is a round length that fits it', () => {
  const shown = fittedSheet(rig, [stair.points, circle(90, 70).points]);
  for (const [x, y] of [
    [-70, 0],
    [70, 0],
    [0, -70],
    [0, 70],
  ] as const) {
    const [px, py] = toPixels(shown, [x, y]);
    expect(px > 0 && px < 800 && py > 0 && py < 300).toBe(true);
  }
  for (const scale of [0.001, 0.07, 0.3, 1, 42]) {
    const pixels = barLength(scale) / scale;
    expect(pixels).toBeGreaterThan(40);
    expect(pixels).toBeLessThanOrEqual(110);
  }
});
