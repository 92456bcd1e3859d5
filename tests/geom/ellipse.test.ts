import { type Ellipse, type Fit, fitEllipse, holeTilt, type Plane, seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';
import { crossOf, dotOf, minus, unit } from './criteria-contacts.js';
import { ellipsePoint, type OutlineCase, outlineCase } from './outline-cases.js';

const level: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
const planeOf = ({ center, normal }: OutlineCase): Plane => ({ kind: 'plane', point: center, normal });
const DEGREE = Math.PI / 180;

const errorOf = ({ feature }: Fit<Ellipse>, made: OutlineCase, major: number, minor: number): number =>
  Math.max(
    Math.hypot(...minus(feature.center, made.center)),
    Math.abs(feature.major - major),
    Math.abs(feature.minor - minor),
    // A direction matters as far as the axes differ.
    (major - minor) * Math.hypot(...crossOf(feature.direction, made.direction)),
  );

test('the ellipse of Gander, Golub & Strebel, BIT 34 (1994): the figures printed there, from memory', () => {
  const points = [1, 7, 2, 6, 5, 8, 7, 7, 9, 5, 3, 7, 6, 2, 8, 4];
  const positions = Float64Array.from({ length: 24 }, (_, k) =>
    k % 3 === 2 ? 0 : points[2 * Math.floor(k / 3) + (k % 3)],
  );
  const { feature, rms, count } = fitEllipse({ positions }, { plane: level });
  expect(feature.center[0]).toBeCloseTo(2.6996, 4);
  expect(feature.center[1]).toBeCloseTo(3.816, 4);
  expect(feature.major).toBeCloseTo(6.5187, 4);
  expect(feature.minor).toBeCloseTo(3.0319, 4);
  expect(Math.atan2(feature.direction[1], feature.direction[0])).toBeCloseTo(0.3596, 4);
  expect(rms * Math.sqrt(count)).toBeCloseTo(1.1719, 4);
});

test('deviations in the null space leave the ellipse where it was: from circles to needles, arcs and all', () => {
  const random = seededRandom(1);
  for (let trial = 0; trial < 100; trial++) {
    const major = 10 ** (2 * random.next());
    const minor = major * [1 - 1e-3, 0.99, 0.8, 0.4, 0.1][trial % 5];
    const arc = trial % 3 === 0 ? Math.PI : 2 * Math.PI;
    const n = 60 + random.below(200);
    const offset = trial % 2 ? 100 : 20_000;
    const points = Array.from({ length: n }, (_, i) => ellipsePoint(major, minor, (arc * (i + random.next())) / n));
    const made = outlineCase(random, points, 1e-3 * minor * (minor / major), offset);
    const fit = fitEllipse({ positions: made.positions }, { plane: planeOf(made) });
    expect(fit.converged).toBe(true);
    expect(errorOf(fit, made, major, minor)).toBeLessThan(1e-9 * major + 1e-13 * offset);
    expect(Math.abs(fit.rms - made.rms)).toBeLessThan(1e-12 * offset);
  }
});

test('started from an ellipse at hand it comes to the same', () => {
  const random = seededRandom(5);
  const points = Array.from({ length: 100 }, () => ellipsePoint(10, 6, 2 * Math.PI * random.next()));
  const made = outlineCase(random, points, 0.02, 100);
  const plane = planeOf(made);
  const { feature } = fitEllipse({ positions: made.positions }, { plane });
  const near: Ellipse = { ...feature, center: minus(feature.center, [0.2, 0.1, 0]), major: 11, minor: 5 };
  expect(errorOf(fitEllipse({ positions: made.positions }, { plane, initial: near }), made, 10, 6)).toBeLessThan(1e-9);
});

test('a hole drilled 12° off: its radius is the minor half axis, its tilt 12°, its axis one of the two told', () => {
  const random = seededRandom(2);
  const axis = unit([Math.sin(12 * DEGREE), 0, Math.cos(12 * DEGREE)]);
  // Points on a cylinder of radius 5 about the axis through zero, where it meets z = 0.
  const positions = new Float64Array(3 * 3000);
  for (let i = 0; i < 3000; i++) {
    const t = 2 * Math.PI * random.next();
    const r = 5 + 0.02 * random.normal();
    positions.set([(r * Math.cos(t)) / axis[2], r * Math.sin(t), 0], 3 * i);
  }
  const fit = fitEllipse({ positions }, { plane: level });
  const { tilt, least, most, axes, radius } = holeTilt(fit);
  expect(tilt / DEGREE).toBeCloseTo(12, 0);
  expect(least).toBeLessThan(12 * DEGREE);
  expect(most).toBeGreaterThan(12 * DEGREE);
  expect((most - least) / DEGREE).toBeLessThan(1);
  expect(radius).toBeCloseTo(5, 2);
  expect(Math.max(...axes.map((a) => Math.abs(dotOf(a, axis))))).toBeGreaterThan(Math.cos(0.5 * DEGREE));
  for (const a of axes) expect(Math.hypot(...a)).toBeCloseTo(1, 12);
});

test('a square hole reads as a circle: the direction is undetermined and the least tilt is none', () => {
  const random = seededRandom(3);
  for (let trial = 0; trial < 20; trial++) {
    const points = Array.from({ length: 500 }, () => ellipsePoint(10, 10, 2 * Math.PI * random.next()));
    const noisy = points.map((p) => {
      const d = 0.03 * random.normal();
      return { ...p, at: [p.at[0] + d * p.normal[0], p.at[1] + d * p.normal[1]] as const, row: [0, 0, 0, 0, 0] };
    });
    const made = outlineCase(
      random,
      noisy.map((p, i) => ({ ...p, row: points[i].row.slice(0, 2) })),
      0,
      10,
    );
    const fit = fitEllipse({ positions: made.positions }, { plane: planeOf(made) });
    expect(fit.converged).toBe(true);
    expect(fit.feature.major - fit.feature.minor).toBeLessThan(0.02);
    const { least, most } = holeTilt(fit);
    if (fit.warnings.some((w) => w.code === 'direction-undetermined')) expect(least).toBeLessThan(2 * DEGREE);
    expect(most).toBeGreaterThan(0);
    expect(most).toBeLessThan(6 * DEGREE);
  }
});

test('exactly a circle: no width, no direction, no tilt', () => {
  const positions = Float64Array.from(
    Array.from({ length: 40 }, (_, i) => [Math.cos(i), Math.sin(i), 0].map((c) => 7 * c)).flat(),
  );
  const fit = fitEllipse({ positions }, { plane: level });
  expect(fit.feature.major).toBeCloseTo(7, 13);
  expect(fit.feature.minor).toBeCloseTo(7, 13);
  expect(holeTilt(fit).tilt).toBeLessThan(1e-6);
});

test('residuals are orthogonal distances: a point on the normal at a known foot is as far as it was put', () => {
  const outline = Array.from({ length: 50 }, (_, i) => ellipsePoint(10, 6, i));
  const positions = Float64Array.from(outline.flatMap(({ at: [x, y] }) => [x, y, 0]));
  const exact = fitEllipse({ positions }, { plane: level });
  expect(exact.max).toBeLessThan(1e-13);
  // Every other point by 0.1 mm outward, the others inward by as much: the ellipse hardly moves.
  const moved = Float64Array.from(
    outline.flatMap(({ at, normal }, i) => [0, 1].map((k) => at[k] + (i % 2 ? 0.1 : -0.1) * normal[k]).concat(0)),
  );
  const fit = fitEllipse({ positions: moved }, { plane: level });
  fit.residuals.forEach((r, i) => {
    expect(Math.abs(r - (i % 2 ? 0.1 : -0.1))).toBeLessThan(0.03);
  });
});

test('a short arc says it does not carry an ellipse; a line is refused; strewn points are rejected', () => {
  const random = seededRandom(4);
  const arc = Array.from({ length: 300 }, () => {
    const { at, normal } = ellipsePoint(10, 8, 0.8 * random.next());
    const d = 0.03 * random.normal();
    return [at[0] + d * normal[0], at[1] + d * normal[1], 0];
  });
  const weak = () => fitEllipse({ positions: Float64Array.from(arc.flat()) }, { plane: level });
  try {
    expect(weak().warnings.map((w) => w.code)).toContain('weak-ellipse');
  } catch (error) {
    expect(error).toMatchObject({ code: 'fit-undetermined' });
  }
  const line = Float64Array.from([0, 1, 2, 3, 4, 5].flatMap((t) => [t, t, t]));
  expect(() => fitEllipse({ positions: line })).toThrow(/straight line/);
  const whole = Array.from({ length: 400 }, (_, i) => {
    const { at, normal } = ellipsePoint(10, 8, i);
    const d = 0.03 * random.normal();
    return [at[0] + d * normal[0], at[1] + d * normal[1], 0];
  });
  const strewn = Array.from({ length: 100 }, () => [30 * random.next() - 15, 30 * random.next() - 15, 0]);
  const fit = fitEllipse({ positions: Float64Array.from([...whole, ...strewn].flat()) }, { plane: level, reject: 3.5 });
  expect(fit.feature.major).toBeCloseTo(10, 1);
  expect(fit.feature.minor).toBeCloseTo(8, 1);
  expect(fit.rejected.length).toBeGreaterThan(85);
});
