import {
  coaxiality,
  coplanarity,
  type FettleError,
  faceStep,
  fitCylinder,
  fitPlane,
  frameOf,
  type Plane,
  parallelism,
  perpendicularity,
  position,
  seededRandom,
  symmetry,
  type Toleranced,
  tolerancedOf,
  type Vec3,
} from '@fettle/geom';
import { expect, test } from 'vitest';

// Each zone is worked out from its definition in ISO 1101 on a part whose deviations are known.

const degrees = Math.PI / 180;
const flat: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
const zAxis = { kind: 'line', point: [0, 0, 0], direction: [0, 0, 1] } as const;
const code = (f: () => unknown) => {
  try {
    f();
  } catch (error) {
    return (error as FettleError).code;
  }
  return undefined;
};

/** A face through the corners of a grid, a × b mm, laid out by a function of its two coordinates. */
function face(place: (s: number, t: number) => Vec3, a = 100, b = 60): Extract<Toleranced, { kind: 'surface' }> {
  const xyz: number[] = [];
  for (let i = 0; i <= 20; i++) for (let j = 0; j <= 12; j++) xyz.push(...place((a * i) / 20, (b * j) / 12));
  const points = { positions: Float64Array.from(xyz) };
  return { kind: 'surface', plane: fitPlane(points).feature, points };
}
const axis = (from: Vec3, to: Vec3): Toleranced => ({ kind: 'axis', from, to });

test('a face that rises 0.2 mm over its length is parallel to its base within 0.2', () => {
  expect(
    parallelism(
      face((s, t) => [s, t, 30 + 0.002 * s]),
      flat,
    ).value,
  ).toBeCloseTo(0.2, 12);
  // A wave of ±0.05 on it adds its height.
  const wavy = face((s, t) => [s, t, 30 + 0.05 * Math.cos((2 * Math.PI * s) / 50)]);
  expect(parallelism(wavy, flat).value).toBeCloseTo(0.1, 12);
});

test('an axis that leans 0.3 mm over its length is parallel to a plane within 0.3, to an axis within the diameter 0.5', () => {
  const t = axis([10, 0, 50], [110, 0.4, 50.3]);
  expect(parallelism(t, flat).value).toBeCloseTo(0.3, 12);
  expect(parallelism(t, { kind: 'line', point: [0, 0, 0], direction: [1, 0, 0] }).value).toBeCloseTo(0.5, 12);
});

test('a face is parallel to an axis within the nearest planes along it, however they turn about it', () => {
  // Leaning about z, which the zone may follow, and by 0.1 mm over 60 mm toward z, which it may not.
  const t = face((s, u) => [s, 0.05 * s + (0.1 * u) / 60, u]);
  expect(parallelism(t, zAxis).value).toBeCloseTo(0.1 / Math.hypot(1, 0.05), 9);
});

test('a drafted wall 60 mm high at 1° is square to its base within 60 tan 1°, turned about z as it may be', () => {
  const rise = 60 * Math.tan(1 * degrees);
  const turned = (s: number, u: number): Vec3 => [
    0.8 * s - 0.6 * ((rise * u) / 60),
    0.6 * s + 0.8 * ((rise * u) / 60),
    u,
  ];
  expect(perpendicularity(face(turned), flat).value).toBeCloseTo(rise, 9);
});

test('an axis is square to a plane within a cylinder, to an axis within two planes; a face to an axis within two planes', () => {
  const t = axis([0, 0, 0], [0.3, 0.4, 80]);
  expect(perpendicularity(t, flat).value).toBeCloseTo(0.5, 12);
  expect(perpendicularity(t, { kind: 'line', point: [0, 0, 0], direction: [1, 0, 0] }).value).toBeCloseTo(0.3, 12);
  expect(
    perpendicularity(
      face((s, u) => [s, u, 0.001 * s]),
      zAxis,
    ).value,
  ).toBeCloseTo(0.1, 12);
});

test('what is square is not asked for its parallelism, nor a center for either', () => {
  const wall = face((s, u) => [s, 0, u]);
  expect(code(() => parallelism(wall, flat))).toBe('wrong-way');
  expect(
    code(() =>
      perpendicularity(
        face((s, u) => [s, u, 0]),
        flat,
      ),
    ),
  ).toBe('wrong-way');
  expect(code(() => parallelism({ kind: 'center', position: [0, 0, 0] }, flat))).toBe('wrong-kind');
  expect(() => parallelism(wall, flat)).toThrow(
    'The surface is 90° off, more nearly square to a plane such as its datum: it has no parallelism to speak of.',
  );
});

const frame = frameOf([100, 50, 0], [0, 1, 0], [-1, 0, 0]);

test('a hole 0.3 and 0.4 mm off its place has a position of 1.0: twice its distance', () => {
  const hole: Toleranced = { kind: 'center', position: frame.toScan([20.3, 30.4, -5]) };
  expect(position(hole, frame, { at: [20, 30, 0], along: 'z' }).value).toBeCloseTo(1, 12);
  // Without an axis the zone is a ball, and depth counts.
  expect(position(hole, frame, { at: [20, 30, 0] }).value).toBeCloseTo(2 * Math.hypot(0.5, 5), 12);
});

test('the position of a bore is that of its worse end', () => {
  const bore = axis(frame.toScan([20, 30, 0]), frame.toScan([20.2, 30, -40]));
  expect(position(bore, frame, { at: [20, 30, 0] }).value).toBeCloseTo(0.4, 12);
  expect(code(() => position(bore, frame, { at: [20, 30, 0], along: 'x' }))).toBe('wrong-way');
});

test('the position of a face is twice the distance of its farthest point from its place', () => {
  const t = face((s, u) => frame.toScan([40.1 + 0.001 * s, u, s]));
  expect(position(t, frame, { at: [40, 0, 0] }).value).toBeCloseTo(2 * 0.2, 9);
});

test('a bore offset 0.2 mm and leaning 0.1 mm has a coaxiality of twice its farther end', () => {
  expect(coaxiality(axis([0.2, 0, 0], [0.3, 0, 60]), zAxis).value).toBeCloseTo(0.6, 12);
  expect(coaxiality({ kind: 'center', position: [0, 0.25, 9] }, zAxis).value).toBeCloseTo(0.5, 12);
  expect(
    code(() =>
      coaxiality(
        face((s, u) => [s, u, 0]),
        zAxis,
      ),
    ),
  ).toBe('wrong-kind');
});

test('a slot whose middle lies 0.15 mm off a mid-plane has a symmetry of 0.3', () => {
  const middle: Plane = { kind: 'plane', point: [0, 0.15, 0], normal: [0, 1, 0] };
  const sides = face((s, u) => [s, u < 30 ? -5 + 0.15 : 5.15, u]);
  expect(
    symmetry({ ...sides, plane: middle }, { kind: 'plane', point: [9, 0, 9], normal: [0, -1, 0] }).value,
  ).toBeCloseTo(0.3, 12);
  const leaning: Plane = {
    kind: 'plane',
    point: [0, 0, 0],
    normal: [-Math.sin(0.1 * degrees), Math.cos(0.1 * degrees), 0],
  };
  // The middle leans by 0.1° over 100 mm from the datum: 100 tan 0.1° at its end, both sides of it.
  const along = face((s, u) => [s, s * Math.tan(0.1 * degrees) + (u < 30 ? -5 : 5), u]);
  expect(
    symmetry({ ...along, plane: leaning }, { kind: 'plane', point: [0, 0, 0], normal: [0, 1, 0] }).value,
  ).toBeCloseTo(2 * 100 * Math.tan(0.1 * degrees), 2);
});

test('two faces at one height but 0.08 mm are coplanar within what a zone over both needs', () => {
  const left = face((s, t) => [s, t, 0]);
  const right = face((s, t) => [s + 150, t, 0.08]);
  // The zone leans by m: it spans h − 150 m − (−100 m) while the far end of the right face is the higher, and 250 m − h when it
  // is the lower, so it is narrowest where both are equal, m = h / 150, with a width of 2 h / 3.
  expect(coplanarity(left, right).value).toBeCloseTo((2 / 3) * 0.08, 7);
  expect(coplanarity(left, left).value).toBeCloseTo(0, 12);
});

test('the step between two faces is taken halfway between their middles', () => {
  const left = face((s, t) => [s, t, 0]);
  const right = face((s, t) => [s + 150, t, 0.3]);
  const { height, from, to, angle } = faceStep(left, right);
  expect(height).toBeCloseTo(0.3, 12);
  expect(from[0]).toBeCloseTo(125, 9);
  expect(to[2]).toBeCloseTo(0.3, 12);
  expect(angle).toBeCloseTo(0, 12);
  expect(
    code(() =>
      faceStep(
        left,
        face((s, t) => [s, t, s]),
      ),
    ),
  ).toBe('not-parallel');
});

test('half a percent trimmed keeps a speck from deciding the zone', () => {
  const t = face((s, u) => [s, u, s === 50 && u === 30 ? 2 : 0]);
  expect(parallelism(t, flat).value).toBe(2);
  expect(parallelism(t, flat, { trim: 0.01 }).value).toBe(0);
  const wall = face((s, u) => [s, s === 50 && u === 30 ? 2 : 0, u]);
  expect(perpendicularity(wall, flat).value).toBeCloseTo(2, 2);
  expect(perpendicularity(wall, flat, { trim: 0.01 }).value).toBeCloseTo(0, 6);
});

test('a fitted cylinder is toleranced by its axis from the first to the last of its points', () => {
  const random = seededRandom(3);
  const xyz: number[] = [];
  for (let i = 0; i < 4000; i++) {
    const a = 2 * Math.PI * random.next();
    const z = i === 0 ? 0 : i === 1 ? 25 : 25 * random.next();
    xyz.push(7 + 5 * Math.cos(a), 5 * Math.sin(a), z);
  }
  const points = { positions: Float64Array.from(xyz) };
  const t = tolerancedOf(fitCylinder(points).feature, points);
  expect(t.kind).toBe('axis');
  if (t.kind !== 'axis') return;
  const ends = [t.from, t.to].sort((a, b) => a[2] - b[2]);
  expect(ends[0][0]).toBeCloseTo(7, 9);
  expect(ends[0][2]).toBeCloseTo(0, 6);
  expect(ends[1][2]).toBeCloseTo(25, 6);
});

test('the places that decide a zone make up its value', () => {
  const random = seededRandom(5);
  const rough = (n: Vec3, at: (s: number, u: number) => Vec3) =>
    face((s, u) => {
      const e = 0.05 * random.normal();
      const p = at(s, u);
      return [p[0] + e * n[0], p[1] + e * n[1], p[2] + e * n[2]];
    });
  const up = rough([0, 0, 1], (s, u) => [s, u, 5]);
  const wall = rough([0, 1, 0], (s, u) => [s, 0, u]);
  const zones = [
    parallelism(up, flat),
    parallelism(wall, zAxis),
    perpendicularity(wall, flat),
    perpendicularity(up, zAxis),
    perpendicularity(axis([0, 0, 0], [0.3, 0.4, 80]), flat),
    coplanarity(
      up,
      rough([0, 0, 1], (s, u) => [s + 150, u, 5.1]),
    ),
  ];
  for (const { value, along, deciding } of zones) {
    const sum = (f: (d: (typeof deciding)[number]) => number) => deciding.reduce((total, d) => total + f(d), 0);
    const [a, b, c] = along;
    expect(sum((d) => d.weight * (d.place[0] * a + d.place[1] * b + d.place[2] * c))).toBeCloseTo(value, 9);
    expect(sum((d) => d.weight)).toBeCloseTo(0, 9);
    expect(sum((d) => Math.abs(d.weight))).toBeCloseTo(2, 9);
  }
});
