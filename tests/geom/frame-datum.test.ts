import { datumFrame, type FettleError, type Line, type Plane, type SignedAxis, type Vec3 } from '@fettle/geom';
import fc from 'fast-check';
import { expect, test } from 'vitest';

// Expected values are worked out by hand or follow from ISO 5459's order of precedence.

const degrees = Math.PI / 180;
const dot = (a: Vec3, b: Vec3) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const unit = (v: Vec3): Vec3 => {
  const l = Math.hypot(...v);
  return [v[0] / l, v[1] / l, v[2] / l];
};
const apart = (a: Vec3, b: Vec3) => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
const refusal = (f: () => unknown): FettleError => {
  try {
    f();
  } catch (error) {
    return error as FettleError;
  }
  throw new Error('nothing was refused');
};

const number = fc.double({ min: -10_000, max: 10_000, noNaN: true });
const place: fc.Arbitrary<Vec3> = fc.tuple(number, number, number);
const direction = place.filter((v) => Math.hypot(...v) > 1).map(unit);
const signed: readonly SignedAxis[] = ['x', 'y', 'z', '-x', '-y', '-z'];
const choices = signed.flatMap((plane) =>
  signed.filter((line) => line.at(-1) !== plane.at(-1)).map((line) => ({ plane, line })),
);

const top: Plane = { kind: 'plane', point: [0, 0, 5], normal: [0, 0, 1] };
const edge: Line = { kind: 'line', point: [0, 2, 5], direction: [1, 0, 0] };

test('a frame on the top of a box: z up, x along its edge, origin at a corner', () => {
  const frame = datumFrame({ plane: top, line: edge, origin: { kind: 'point', position: [7, 2, 5] } });
  expect(frame.toFrame([8, 4, 8])).toEqual([1, 2, 3]);
  expect(frame.toScan([1, 2, 3])).toEqual([8, 4, 8]);
  // biome-ignore format: columns of the matrix
  expect(Array.from(frame.matrix)).toEqual([1, 0, 0, 0,  0, 1, 0, 0,  0, 0, 1, 0,  -7, -2, -5, 1]);
  expect(frame.disagreement).toEqual({ angle: 0, distance: 0, originOffPlane: 0, originOffLine: 0 });
  expect(frame.warnings).toEqual([]);
});

test('there are 24 ways to give plane and line an axis and a sign, and each makes a right-handed frame', () => {
  expect(choices).toHaveLength(24);
  const seen = new Set<string>();
  for (const plus of choices) {
    const frame = datumFrame({ plane: top, line: edge, origin: [0, 0, 0], plus });
    expect(cross(frame.x, frame.y).map((c) => c + 0)).toEqual(frame.z.map((c) => c + 0));
    const axis = (name: SignedAxis) => frame[name.at(-1) as 'x'].map((c) => (name.length === 2 ? 0 - c : c + 0));
    expect(axis(plus.plane)).toEqual([0, 0, 1]);
    expect(axis(plus.line)).toEqual([1, 0, 0]);
    seen.add(JSON.stringify([frame.x, frame.y].map((v) => v.map((c) => c + 0))));
  }
  expect(seen.size).toBe(24);
});

test('any plane, line and point give square unit axes, the normal exactly one of them, and maps that undo each other', () => {
  fc.assert(
    fc.property(
      place,
      direction,
      place,
      direction,
      place,
      fc.constantFrom(...choices),
      place,
      (p, n, q, d, o, plus, probe) => {
        fc.pre(Math.abs(dot(n, d)) < 0.9999);
        const frame = datumFrame({
          plane: { kind: 'plane', point: p, normal: n },
          line: { kind: 'line', point: q, direction: d },
          origin: { kind: 'point', position: o },
          plus,
        });
        const { x, y, z } = frame;
        for (const [a, b, product] of [
          [x, x, 1],
          [y, y, 1],
          [z, z, 1],
          [x, y, 0],
          [y, z, 0],
          [z, x, 0],
        ] as const)
          expect(Math.abs(dot(a, b) - product)).toBeLessThan(1e-12);
        expect(dot(cross(x, y), z)).toBeGreaterThan(0.999999);
        const primary = frame[plus.plane.at(-1) as 'x'];
        expect(apart(primary, plus.plane.length === 2 ? [-n[0], -n[1], -n[2]] : n)).toBeLessThan(1e-12);
        // The plane has coordinate 0; the line has none across itself but along the plane's axis.
        expect(Math.abs(dot(n, frame.origin) - dot(n, p))).toBeLessThan(1e-8);
        const third = (['x', 'y', 'z'] as const).find((a) => a !== plus.plane.at(-1) && a !== plus.line.at(-1))!;
        expect(Math.abs(dot(frame[third], d))).toBeLessThan(1e-10);
        expect(dot(frame[plus.line.at(-1) as 'x'], d) > 0).toBe(plus.line.length === 1);
        // Coordinates up to 20 m: rounding is 4e-12 mm a step.
        expect(apart(frame.toScan(frame.toFrame(probe)), probe)).toBeLessThan(1e-10);
        expect(apart(frame.toFrame(frame.toScan(probe)), probe)).toBeLessThan(1e-10);
        const m = frame.matrix;
        const byMatrix = [0, 1, 2].map((i) => m[i] * probe[0] + m[4 + i] * probe[1] + m[8 + i] * probe[2] + m[12 + i]);
        expect(apart(byMatrix as unknown as Vec3, frame.toFrame(probe))).toBeLessThan(1e-9);
      },
    ),
    { seed: 5 },
  );
});

test('a line that leans out of the plane is laid into it, and the disagreement is told', () => {
  const lean = 2 * degrees;
  const frame = datumFrame({
    plane: top,
    line: { kind: 'line', point: [0, 2, 5.5], direction: [Math.cos(lean), 0, Math.sin(lean)] },
    origin: { kind: 'point', position: [0, 4, 6] },
  });
  expect(frame.z).toEqual([0, 0, 1]);
  expect(frame.x).toEqual([1, 0, 0]);
  expect(frame.origin).toEqual([0, 4, 5]);
  expect(frame.disagreement.angle / degrees).toBeCloseTo(2, 10);
  expect(frame.disagreement.originOffPlane).toBe(1);
  expect(frame.disagreement.originOffLine).toBeCloseTo(2, 12);
  // The foot of the origin on the line is 0.5 sin2° back along it: 0.5 cos²2° above the plane.
  expect(frame.disagreement.distance).toBeCloseTo(0.5 * Math.cos(lean) ** 2, 12);
  expect(frame.warnings).toEqual([
    {
      code: 'line-leans',
      message:
        'The line leans 2° out of the plane, 3.492 mm over 100 mm: it was laid into the plane. Is it the right line?',
    },
  ]);
});

test('a point on no line: how far it lies off is told, and the axes run through the point', () => {
  const frame = datumFrame({ plane: top, line: edge, origin: { kind: 'point', position: [3, 42, 5] } });
  expect(frame.disagreement.originOffLine).toBe(40);
  expect(frame.origin).toEqual([3, 42, 5]);
});

test('the origin of a bore is where its axis pierces the plane, of a hole its center laid onto it', () => {
  const slanted: Vec3 = [0.6, 0, 0.8];
  const bore = { kind: 'cylinder', point: [0, 0, 1], direction: slanted, radius: 3 } as const;
  expect(datumFrame({ plane: top, line: edge, origin: bore }).origin).toEqual([3, 0, 5]);
  const hole = { kind: 'circle', center: [0, 0, 1], normal: slanted, radius: 3 } as const;
  expect(datumFrame({ plane: top, line: edge, origin: hole }).origin).toEqual([0, 0, 5]);
});

test('a line may be given as the plane that meets the first in it', () => {
  const front: Plane = { kind: 'plane', point: [0, -3, 0], normal: [0, -1, 0] };
  const frame = datumFrame({ plane: top, line: front, origin: [0, 0, 5] });
  expect(frame.x.map((c) => c + 0)).toEqual([1, 0, 0]);
  expect(frame.disagreement.originOffLine).toBe(3);
});

test('three planes of a drafted casting: the first rules, the angles are told', () => {
  // Front and side lean back by 3° and 2°, and are 89° to each other about z before that.
  const around = (angle: number, draft: number): Vec3 => [
    Math.cos(angle) * Math.cos(draft),
    Math.sin(angle) * Math.cos(draft),
    Math.sin(draft),
  ];
  const front: Plane = { kind: 'plane', point: [10, -3, 5], normal: around(-90 * degrees, 3 * degrees) };
  const side: Plane = { kind: 'plane', point: [60, 10, 5], normal: around(-1 * degrees, 2 * degrees) };
  const frame = datumFrame({ planes: [top, front, side] });
  expect(frame.z).toEqual([0, 0, 1]);
  expect(frame.x[0]).toBeCloseTo(1, 12);
  // On the top the front is y = -3, the side passes (60, 10) along (sin 1°, cos 1°).
  expect(frame.origin[0]).toBeCloseTo(60 - 13 * Math.tan(1 * degrees), 10);
  expect(frame.origin[1]).toBeCloseTo(-3, 10);
  expect(frame.origin[2]).toBeCloseTo(5, 10);
  expect(frame.angles!.primarySecondary / degrees).toBeCloseTo(87, 10);
  expect(frame.angles!.primaryTertiary / degrees).toBeCloseTo(88, 10);
  const between = Math.acos(
    Math.cos(3 * degrees) * Math.cos(2 * degrees) * Math.cos(89 * degrees) +
      Math.sin(3 * degrees) * Math.sin(2 * degrees),
  );
  expect(frame.angles!.secondaryTertiary).toBeCloseTo(between, 12);
  expect(frame.disagreement.originOffPlane).toBeCloseTo(0, 10);
  expect(frame.disagreement.originOffLine).toBeCloseTo(0, 10);
});

test('the line of three planes points to where the third faces, whatever the signs of the others', () => {
  const front: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 1, 0] };
  const side = (sign: number): Plane => ({ kind: 'plane', point: [9, 0, 0], normal: [sign, 0, 0] });
  const x = (first: Plane, third: Plane) => datumFrame({ planes: [first, front, third] }).x.map((c) => c + 0);
  expect(x(top, side(1))).toEqual([1, 0, 0]);
  expect(x({ ...top, normal: [0, 0, -1] }, side(1))).toEqual([1, 0, 0]);
  expect(x(top, side(-1))).toEqual([-1, 0, 0]);
});

test('what cannot be a frame is refused with its numbers', () => {
  const same = refusal(() =>
    datumFrame({ plane: top, line: edge, origin: [0, 0, 0], plus: { plane: 'z', line: '-z' } }),
  );
  expect(same.code).toBe('axes');
  expect(same.message).toBe(
    'The plane was given the z axis and the line the -z axis: they need two different ones of x, y, z, each with or without a minus.',
  );
  const square = refusal(() =>
    datumFrame({ plane: top, line: { kind: 'line', point: [0, 0, 0], direction: [0, 0, 1] }, origin: [0, 0, 0] }),
  );
  expect(square.code).toBe('line-square-to-plane');
  expect(refusal(() => datumFrame({ planes: [top, { ...top, point: [0, 0, 0] }, top] })).code).toBe('parallel');
  expect(refusal(() => datumFrame({ plane: top, line: edge, origin: [0, Number.NaN, 0] })).code).toBe('not-finite');
});
