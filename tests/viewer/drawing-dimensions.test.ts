import type { Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { dimensionsOf } from '../../packages/viewer/src/drawing/dimension-text.js';
import type { SheetRig } from '../../packages/viewer/src/drawing/sheet-rig.js';
import type { CornerView, PieceView } from '../../packages/viewer/src/worker/protocol.js';

const axes = { origin: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], names: ['x', 'y'] } as const;
/** A pixel is half a millimeter; (0, 0) is in the middle, at (400, 200). */
const rig: SheetRig = { x: 0, y: 0, scale: 0.5, width: 800, height: 400 };

const base = { polyline: 0, isWhole: false, isLongWay: false, rms: 0.01, max: 0.02 };
function line(start: Vec3, end: Vec3): PieceView {
  const length = Math.hypot(end[0] - start[0], end[1] - start[1]);
  const ends = { start, end, first: start, last: end };
  return { ...base, ...ends, kind: 'line', length, line: Float64Array.of(...start, ...end) };
}
function arc(center: Vec3, radius: number, from: number, sweep: number): PieceView {
  const at = (turn: number): Vec3 => [center[0] + radius * Math.cos(turn), center[1] + radius * Math.sin(turn), 0];
  const points = Array.from({ length: 41 }, (_, i) => at(from + (sweep * i) / 40));
  const ends = { start: points[0]!, end: points[40]!, first: points[0]!, last: points[40]! };
  const isWhole = sweep > 6.28;
  const told = { name: 'radius', value: isWhole ? 2 * radius : radius, unit: 'mm', uncertainty: 0.034 } as const;
  return {
    ...base,
    ...ends,
    length: radius * sweep,
    center,
    radius,
    size: told,
    kind: 'arc',
    isWhole,
    line: Float64Array.from(points.flat()),
  };
}

test('a line is dimensioned beside its middle, along it, and never upside down', () => {
  const [level] = dimensionsOf([line([-50, 20, 0], [50, 20, 0])], [], axes, rig);
  expect(level).toMatchObject({ text: '100.00', x: 400, turn: 0 });
  expect(Math.abs(level!.y - 160)).toBe(11);
  for (const end of [
    [30, 40, 0],
    [-30, 40, 0],
    [-30, -40, 0],
    [0, 50, 0],
    [0, -50, 0],
  ] as const) {
    const [found] = dimensionsOf([line([0, 0, 0], end)], [], axes, rig);
    expect(found!.text).toBe('50.00');
    expect(Math.abs(found!.turn!)).toBeLessThanOrEqual(90);
    // Beside the line, a letter's height off it.
    const [ux, uy] = [end[0] / 50, -end[1] / 50];
    expect(Math.abs((found!.x - 400) * uy - (found!.y - 200) * ux)).toBeCloseTo(11, 6);
  }
});

test('an arc gets its radius on a leader from its middle, a full circle its diameter in its center', () => {
  const [radius] = dimensionsOf([arc([0, 0, 0], 30, 0, Math.PI / 2)], [], axes, rig);
  expect(radius!.text).toBe('R30.000 ± 0.034');
  expect(radius!.to![0]).toBeCloseTo(400 + 60 * Math.SQRT1_2, 6);
  expect(radius!.to![1]).toBeCloseTo(200 - 60 * Math.SQRT1_2, 6);
  expect(Math.hypot(radius!.x - 400, radius!.y - 200)).toBeGreaterThan(60 + 20);
  // The leader ends where the text does: at a letter's height under its middle, or at its first letter.
  const [fx, fy] = radius!.from!;
  expect(Math.abs(fx - radius!.x) <= 3.3 * radius!.text.length && Math.abs(fy - radius!.y) <= 7.001).toBe(true);
  expect(Math.hypot(fx - radius!.x, fy - radius!.y)).toBeGreaterThan(6.9);
  const [diameter] = dimensionsOf([arc([10, 5, 0], 30, 0, 2 * Math.PI)], [], axes, rig);
  expect(diameter).toEqual({ text: '⌀60.000 ± 0.034', x: 420, y: 190 });
});

test('a corner that is not square gets its angle, inside it', () => {
  const along = (degrees: number): Vec3 => [
    Math.cos((degrees * Math.PI) / 180),
    Math.sin((degrees * Math.PI) / 180),
    0,
  ];
  const corner = (a: number, b: number): CornerView => ({
    at: [0, 0, 0],
    along: [along(a), along(b)],
    angle: ((b - a) * Math.PI) / 180,
    size: { name: 'angle', value: b - a, unit: '°', uncertainty: 0.21 },
  });
  const [sharp] = dimensionsOf([], [corner(0, 60)], axes, rig);
  expect(sharp!.text).toBe('60.00 ± 0.21°');
  expect(Math.atan2(200 - sharp!.y, sharp!.x - 400)).toBeCloseTo(Math.PI / 6, 9);
  expect(dimensionsOf([], [corner(0, 90.1)], axes, rig)).toEqual([]);
});

test('what is too small or out of sight is left out, and the smaller of two that would lie over each other', () => {
  const shown = (...pieces: PieceView[]) => dimensionsOf(pieces, [], axes, rig).map(({ text }) => text);
  expect(shown(line([0, 0, 0], [20, 0, 0]))).toEqual([]);
  expect(shown(arc([0, 0, 0], 2, 0, 1))).toEqual([]);
  expect(shown(line([600, 0, 0], [700, 0, 0]))).toEqual([]);
  expect(shown(line([-40, 0, 0], [40, 0, 0]), line([-50, 2, 0], [50, 2, 0]))).toEqual(['100.00']);
  expect(shown(line([-40, 0, 0], [40, 0, 0]), line([-50, 30, 0], [50, 30, 0]))).toEqual(['100.00', '80.00']);
});
