import { type Fit, fitSlot, type Plane, type Slot, seededRandom, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { crossOf, minus } from './criteria-contacts.js';
import { type OutlineCase, type OutlinePoint, outlineCase, slotPoint } from './outline-cases.js';

const planeOf = ({ center, normal }: OutlineCase): Plane => ({ kind: 'plane', point: center, normal });

/** Largest error in place, size, and direction at the end of the slot, mm. */
const errorOf = ({ feature }: Fit<Slot>, made: OutlineCase, length: number, width: number): number =>
  Math.max(
    Math.hypot(...minus(feature.center, made.center)),
    Math.abs(feature.length - length),
    Math.abs(feature.width - width),
    (length / 2) * Math.hypot(...crossOf(feature.direction, made.direction)),
  );

const outline = (random: ReturnType<typeof seededRandom>, n: number, length: number, width: number) =>
  Array.from({ length: n }, (_, i) => slotPoint(length, width, (i + random.next()) / n));

test('deviations in the null space leave the slot where it was: all sizes, anywhere, to rounding', () => {
  const random = seededRandom(1);
  for (let trial = 0; trial < 100; trial++) {
    const width = 10 ** (2 * random.next());
    const length = width * (1.2 + 20 * random.next() ** 3);
    const offset = trial % 2 ? 100 : 20_000;
    const made = outlineCase(random, outline(random, 60 + random.below(300), length, width), 0.002 * width, offset);
    const fit = fitSlot({ positions: made.positions }, { plane: planeOf(made) });
    expect(fit.converged).toBe(true);
    expect(fit.warnings).toEqual([]);
    expect(errorOf(fit, made, length, width)).toBeLessThan(1e-9 * length + 1e-14 * 100 * offset);
    expect(Math.abs(fit.rms - made.rms)).toBeLessThan(1e-12 * offset);
  }
});

test('without a plane the points’ own serves', () => {
  const random = seededRandom(2);
  const made = outlineCase(random, outline(random, 200, 30, 12), 0.02, 100);
  const fit = fitSlot({ positions: made.positions });
  expect(errorOf(fit, made, 30, 12)).toBeLessThan(1e-9);
  expect(Math.hypot(...crossOf(fit.feature.normal, made.normal))).toBeLessThan(1e-12);
});

test('started from a slot at hand, or with a normal of any length, it comes to the same', () => {
  const random = seededRandom(7);
  const made = outlineCase(random, outline(random, 200, 30, 12), 0.02, 100);
  const plane = planeOf(made);
  const { feature } = fitSlot({ positions: made.positions }, { plane });
  const near: Slot = { ...feature, center: minus(feature.center, [0.2, 0.1, 0]), length: 31, width: 11 };
  const again = fitSlot({ positions: made.positions }, { plane, initial: near });
  const long = { ...plane, normal: made.normal.map((c) => 7 * c) as unknown as Vec3 };
  for (const fit of [again, fitSlot({ positions: made.positions }, { plane: long })])
    expect(errorOf(fit, made, 30, 12)).toBeLessThan(1e-9);
  expect(() => fitSlot({ positions: made.positions }, { plane: { ...plane, normal: [0, 0, 0] } })).toThrow(/not all 0/);
});

/** A 30 × 12 slot of which only some points are there, each with noise of its own. */
function part(isThere: (s: number, t: number) => boolean): OutlineCase & { count: number } {
  const random = seededRandom(3);
  const kept: OutlinePoint[] = outline(random, 2000, 30, 12)
    .filter(({ at }) => isThere(...at))
    .map((p) => {
      const d = 0.03 * random.normal();
      return { ...p, at: [p.at[0] + d * p.normal[0], p.at[1] + d * p.normal[1]] };
    });
  return { ...outlineCase(random, kept, 0, 100), count: kept.length };
}

test('a side missing: the ends carry the width, and it says so', () => {
  const made = part((s, t) => t > 0 || Math.abs(s) > 9);
  const fit = fitSlot({ positions: made.positions }, { plane: planeOf(made) });
  expect(fit.warnings.map((w) => w.code)).toEqual(['slot-side-missing']);
  expect(fit.warnings[0].message).toMatch(/one straight side: the width, 1[12](\.\d+)? mm, rests on the round ends/);
  expect(errorOf(fit, made, 30, 12)).toBeLessThan(0.03);
});

test('half of it missing, lengthwise: quarter circles still carry the width', () => {
  const made = part((_s, t) => t > 0);
  const fit = fitSlot({ positions: made.positions }, { plane: planeOf(made) });
  expect(fit.warnings.map((w) => w.code)).toEqual(['slot-side-missing']);
  expect(errorOf(fit, made, 30, 12)).toBeLessThan(0.1);
  // Less well than the whole outline does.
  const all = part(() => true);
  const whole = fitSlot({ positions: all.positions }, { plane: planeOf(all) });
  expect(fit.uncertainty.covariance[24]).toBeGreaterThan(4 * whole.uncertainty.covariance[24]);
});

test('an end missing: the length told is the least it can be', () => {
  const made = part((s) => s < 5);
  const fit = fitSlot({ positions: made.positions }, { plane: planeOf(made) });
  expect(fit.warnings.map((w) => w.code)).toEqual(['slot-end-missing']);
  // The seen end at −9 − 6, points up to 5, and an end beyond: 15 + 5 + 6.
  expect(fit.feature.length).toBeCloseTo(26, 0);
  expect(fit.feature.width).toBeCloseTo(12, 1);
});

test('one side alone is no slot; a round outline has no direction', () => {
  const side = part((s, t) => t > 0 && Math.abs(s) < 8);
  expect(() => fitSlot({ positions: side.positions }, { plane: planeOf(side) })).toThrow(/too little of a slot/);
  const random = seededRandom(4);
  const ring = outlineCase(random, outline(random, 500, 12.0001, 12), 0.03, 10);
  const fit = fitSlot({ positions: ring.positions }, { plane: planeOf(ring) });
  expect(fit.warnings.map((w) => w.code)).toContain('direction-undetermined');
  expect(fit.feature.width).toBeCloseTo(12, 1);
});

test('a fifth of the points strewn about: rejected, and the slot is the one of the others', () => {
  const random = seededRandom(5);
  const made = outlineCase(random, outline(random, 800, 30, 12), 0.03, 100);
  const across = crossOf(made.normal, made.direction);
  const strewn = Array.from({ length: 200 }, () => {
    const [s, t] = [40 * random.next() - 20, 24 * random.next() - 12];
    return [0, 1, 2].map((k) => made.center[k] + s * made.direction[k] + t * across[k]);
  }).flat();
  const positions = Float64Array.from([...made.positions, ...strewn]);
  const fit = fitSlot({ positions }, { plane: planeOf(made), reject: 3.5 });
  expect(errorOf(fit, made, 30, 12)).toBeLessThan(0.02);
  expect(fit.rejected.length).toBeGreaterThan(180);
  expect(fit.count + fit.rejected.length).toBe(1000);
});

test('the stated 95 % intervals of length and width hold the truth in about nineteen of twenty scans', () => {
  const random = seededRandom(6);
  let [lengths, widths] = [0, 0];
  const trials = 120;
  for (let trial = 0; trial < trials; trial++) {
    const points = outline(random, 400, 30, 12).map((p): OutlinePoint => {
      const d = 0.03 * random.normal();
      return { ...p, at: [p.at[0] + d * p.normal[0], p.at[1] + d * p.normal[1]] };
    });
    const made = outlineCase(random, points, 0, 10);
    const { feature, uncertainty } = fitSlot({ positions: made.positions }, { plane: planeOf(made) });
    if (Math.abs(feature.length - 30) < 2 * Math.sqrt(uncertainty.covariance[18])) lengths++;
    if (Math.abs(feature.width - 12) < 2 * Math.sqrt(uncertainty.covariance[24])) widths++;
  }
  // 95.4 % expected; three standard errors of a share over 120 trials are 6 %.
  expect(lengths / trials).toBeGreaterThan(0.89);
  expect(widths / trials).toBeGreaterThan(0.89);
});

test('points on a line, too few, or a criterion it does not have are refused', () => {
  const line = Float64Array.from([0, 1, 2, 3, 4, 5].flatMap((t) => [t, t, t]));
  expect(() => fitSlot({ positions: line })).toThrow(/straight line/);
  expect(() => fitSlot({ positions: line.slice(0, 12) })).toThrow(/at least 5 points/);
  const made = part(() => true);
  expect(() => fitSlot({ positions: made.positions }, { criterion: 'minimum-zone' })).toThrow(/least squares alone/);
});
