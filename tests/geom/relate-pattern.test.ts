import {
  boltCircle,
  type Circle,
  type FettleError,
  holeGrid,
  holeRow,
  type Point,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import fc from 'fast-check';
import { expect, test } from 'vitest';

// Patterns are laid out by their definition; what is found must be what was laid out.

const point = (x: number, y: number, z = 0): Point => ({ kind: 'point', position: [x, y, z] });
const hole = (center: Vec3, normal: Vec3): Circle => ({ kind: 'circle', center, normal, radius: 4 });
const code = (f: () => unknown) => {
  try {
    f();
  } catch (error) {
    return (error as FettleError).code;
  }
  return undefined;
};
/** Places of n holes on a circle in the xy plane, from an angle on. */
const onCircle = (n: number, radius: number, places: readonly number[], turn = 0.3) =>
  places.map((k) =>
    point(
      50 + radius * Math.cos(turn + (2 * Math.PI * k) / n),
      -20 + radius * Math.sin(turn + (2 * Math.PI * k) / n),
      7,
    ),
  );

test('five of six holes: center, diameter, 60° spacing, and the sixth is named as missing', () => {
  const { feature, count, spacing, holes, missing, max } = boltCircle(onCircle(6, 40, [0, 1, 2, 4, 5]));
  expect(count).toBe(6);
  expect(spacing).toBeCloseTo(Math.PI / 3, 12);
  expect(feature.radius).toBeCloseTo(40, 10);
  expect(feature.center[0]).toBeCloseTo(50, 10);
  expect(feature.center[1]).toBeCloseTo(-20, 10);
  expect(feature.center[2]).toBeCloseTo(7, 10);
  expect(max).toBeLessThan(1e-10);
  const [{ name, nominal }] = missing;
  expect(missing).toHaveLength(1);
  const [truth] = onCircle(6, 40, [3]);
  for (const i of [0, 1, 2]) expect(nominal[i]).toBeCloseTo(truth.position[i], 9);
  // Counted from the first hole against the normal; without normals of their own the plane's largest component is positive.
  expect(name).toBe('4');
  expect(holes.map((h) => h.name)).toEqual(['1', '2', '3', '5', '6']);
});

test('the normal agrees with the holes, and places count counterclockwise against it', () => {
  const down = onCircle(4, 10, [0, 1, 3]).map(({ position }) => hole(position, [0, 0, -1]));
  const { feature, holes, missing } = boltCircle(down);
  expect(feature.normal[2]).toBeCloseTo(-1, 12);
  expect(holes.map((h) => h.name)).toEqual(['1', '4', '2']);
  expect(missing.map((m) => m.name)).toEqual(['3']);
});

test('three holes 120° apart are a bolt circle of three; told that it has six, three are missing', () => {
  const three = onCircle(3, 25, [0, 1, 2]);
  expect(boltCircle(three).count).toBe(3);
  expect(boltCircle(three).missing).toEqual([]);
  expect(boltCircle(three, { count: 6 }).missing.map((m) => m.name)).toEqual(['2', '4', '6']);
});

test('any pattern in space is found from at least half its holes, measured 0.05 mm off', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 3, max: 16 }),
      fc.double({ min: 20, max: 400, noNaN: true }),
      fc.integer(),
      (n, radius, seed) => {
        const random = seededRandom(seed);
        const w: Vec3 = [0.36, 0.48, 0.8];
        const u: Vec3 = [0.8, -0.6, 0];
        const v: Vec3 = [0.48, 0.64, -0.6];
        const places = Array.from({ length: n }, (_, k) => k)
          .sort(() => random.next() - 0.5)
          .slice(0, Math.max(3, Math.ceil(0.6 * n)));
        // A pattern that is one of fewer places too (every other of six) is rightly taken for that.
        const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b));
        fc.pre(places.map((k) => Math.abs(k - places[0])).reduce(gcd, n) === 1);
        const noise = () => (random.next() - 0.5) * 0.1;
        const holes = places.map((k) => {
          const a = radius * Math.cos((2 * Math.PI * k) / n) + noise();
          const b = radius * Math.sin((2 * Math.PI * k) / n) + noise();
          return hole([0, 1, 2].map((i) => 100 * i + a * u[i] + b * v[i] + noise() * w[i]) as unknown as Vec3, w);
        });
        const { feature, count, missing, max } = boltCircle(holes, { within: 0.3 });
        expect(count).toBe(n);
        expect(missing).toHaveLength(n - places.length);
        expect(Math.abs(feature.radius - radius)).toBeLessThan(0.2);
        expect(max).toBeLessThan(0.2);
      },
    ),
    { seed: 6, numRuns: 200 },
  );
});

test('holes that are no bolt circle are refused with how far off the best is', () => {
  expect(code(() => boltCircle(onCircle(6, 40, [0, 1])))).toBe('too-few-holes');
  expect(code(() => boltCircle(onCircle(6, 40, [0, 1, 1])))).toBe('holes-coincide');
  expect(code(() => boltCircle(onCircle(6, 40, [0, 1, 2, 3]), { count: 3 }))).toBe('uneven-spacing');
  const odd = onCircle(36, 40, [0, 8, 19, 26]);
  expect(() => boltCircle(odd, { count: 4 })).toThrow(
    /^The holes are not evenly spaced on a circle of 4 places: at best, with 4 places, one is [\d.]+ mm off\. Are they all of one bolt circle\?$/,
  );
});

test('a row with a hole missing: pitch, direction from the end of the first hole, the gap named', () => {
  const at = (k: number) => point(10 + 12.5 * k * 0.6, 5 + 12.5 * k * 0.8);
  const { feature, pitch, holes, missing, rms } = holeRow([at(0), at(1), at(3), at(4)]);
  expect(pitch).toBeCloseTo(12.5, 10);
  expect(feature.point.map((c) => Number(c.toFixed(9)))).toEqual([10, 5, 0]);
  expect(feature.direction.map((c) => Number(c.toFixed(9)))).toEqual([0.6, 0.8, 0]);
  expect(holes.map((h) => h.name)).toEqual(['1', '2', '4', '5']);
  expect(missing.map((m) => m.name)).toEqual(['3']);
  expect(missing[0].nominal[0]).toBeCloseTo(10 + 25 * 0.6, 9);
  expect(rms).toBeLessThan(1e-10);
  expect(holeRow([at(4), at(0), at(1), at(3)]).feature.direction[0]).toBeCloseTo(-0.6, 9);
});

test('gaps of two and three pitches give the pitch that fits both', () => {
  const { pitch, missing } = holeRow([point(0, 0), point(20, 0), point(50, 0)]);
  expect(pitch).toBeCloseTo(10, 10);
  expect(missing.map((m) => m.name)).toEqual(['2', '4', '5']);
});

test('a row of 40 holes, each 0.03 mm off, has its pitch to 2 µm', () => {
  const random = seededRandom(4);
  const row = Array.from({ length: 40 }, (_, k) => point(7.62 * k + 0.03 * random.normal(), 0.03 * random.normal()));
  // Standard error of a slope through 40 places: 0.03 / √(40 (40² − 1) / 12) = 0.0004 mm.
  expect(Math.abs(holeRow(row).pitch - 7.62)).toBeLessThan(0.002);
});

test('what is no row is refused', () => {
  expect(code(() => holeRow([point(0, 0), point(10, 0)]))).toBe('too-few-holes');
  expect(code(() => holeRow([point(0, 0), point(10, 0), point(20, 5)]))).toBe('uneven-spacing');
  expect(code(() => holeRow([point(0, 0), point(10, 0), point(23.7, 0), point(31.1, 0)]))).toBe('uneven-spacing');
});

test('a grid of 3 × 4 with a hole missing: both pitches, square, the place named by row and column', () => {
  const holes = [];
  for (let j = 0; j < 3; j++) for (let i = 0; i < 4; i++) if (!(i === 2 && j === 1)) holes.push(point(20 * i, 30 * j));
  const { pitch, angle, rows, columns, missing, max, feature } = holeGrid(holes);
  expect(pitch[0]).toBeCloseTo(20, 10);
  expect(pitch[1]).toBeCloseTo(30, 10);
  expect(angle).toBeCloseTo(Math.PI / 2, 10);
  expect([rows, columns].sort()).toEqual([3, 4]);
  expect(missing).toHaveLength(1);
  expect(missing[0].nominal[0]).toBeCloseTo(40, 9);
  expect(missing[0].nominal[1]).toBeCloseTo(30, 9);
  expect(max).toBeLessThan(1e-9);
  expect(Math.abs(feature.direction[0])).toBeCloseTo(1, 9);
});

test('a grid a degree out of square says so, in any pose and with 0.05 mm of scatter', () => {
  const random = seededRandom(9);
  const lean = (91 * Math.PI) / 180;
  const holes = Array.from({ length: 30 }, (_, k) => {
    const [i, j] = [k % 6, Math.floor(k / 6)];
    const x = 25 * i + 40 * j * Math.cos(lean) + 0.05 * random.normal();
    const y = 40 * j * Math.sin(lean) + 0.05 * random.normal();
    return point(0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y, 3);
  });
  const { pitch, angle, missing } = holeGrid(holes);
  expect(pitch[0]).toBeCloseTo(25, 1);
  expect(pitch[1]).toBeCloseTo(40, 1);
  // Either way round a corner: 91° or 89°.
  expect(Math.abs(Math.abs((angle * 180) / Math.PI - 90) - 1)).toBeLessThan(0.1);
  expect(missing).toEqual([]);
});

test('rows of a square grid run from the first hole to the next, whatever the noise', () => {
  const random = seededRandom(5);
  const alongRows = (order: readonly (readonly [number, number])[]) =>
    Array.from({ length: 50 }, () => {
      const holes = order.map(([x, y]) => point(x + 0.02 * random.normal(), y + 0.02 * random.normal()));
      return Math.abs(holeGrid(holes).feature.direction[0]);
    });
  for (const along of alongRows([
    [0, 0],
    [50, 0],
    [50, 50],
    [0, 50],
  ]))
    expect(along).toBeCloseTo(1, 3);
  for (const along of alongRows([
    [0, 0],
    [0, 50],
    [50, 50],
    [50, 0],
  ]))
    expect(along).toBeCloseTo(0, 2);
  // From corner to corner first: the way to the third counts.
  for (const along of alongRows([
    [0, 0],
    [50, 50],
    [0, 50],
    [50, 0],
  ]))
    expect(along).toBeCloseTo(0, 2);
});

test('what is no grid is refused', () => {
  expect(code(() => holeGrid([point(0, 0), point(10, 0), point(20, 0), point(30, 0)]))).toBe('uneven-spacing');
  expect(code(() => holeGrid([point(0, 0), point(10, 0), point(0, 10)]))).toBe('too-few-holes');
  expect(code(() => holeGrid([point(0, 0), point(10, 0), point(0, 13), point(17, 29), point(31, 44)]))).toBe(
    'uneven-spacing',
  );
});
