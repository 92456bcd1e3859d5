import { type Bounds, type Scan, seededRandom, type Vec3 } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { casting, castingDistance } from '../../examples/pump/casting.js';
import { correlatedField } from '../../examples/pump/correlated-field.js';
import { pointToPump } from '../../examples/pump/pose.js';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { surfaceNets } from '../../examples/pump/surface-nets.js';

const points = (scan: Scan): Vec3[] =>
  Array.from({ length: scan.positions.length / 3 }, (_, i) => [
    scan.positions[3 * i]!,
    scan.positions[3 * i + 1]!,
    scan.positions[3 * i + 2]!,
  ]);

const within = (p: Vec3, min: Vec3, max: Vec3): boolean => p.every((c, axis) => c >= min[axis]! && c <= max[axis]!);
const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

const { scan: clean, truth } = scanPump({ triangles: 40_000, noise: 'none' });
const onScan = points(clean);
const onPump = onScan.map((p) => pointToPump(truth.frame, p));

/** The scanned points inside a box in the pump's axes. */
const among = (min: Vec3, max: Vec3): Vec3[] => onScan.filter((_, i) => within(onPump[i]!, min, max));

describe('without noise, scanned points lie on the true surfaces', () => {
  const { onScan: is } = truth;
  test.each([
    ['left foot', is.top, [14, 24, -0.3], [76, 116, 0.3], 500],
    ['right foot', is.top, [174, 24, -0.3], [236, 116, 0.3], 500],
    ['front, left of the boss', is.front, [16, -5, -88], [72, 2, -18], 400],
    ['front, right of the boss', is.front, [178, -5, -88], [234, 2, -18], 400],
    ['left side', is.side, [-6, 16, -88], [3, 130, -18], 400],
    ['face of the boss', is['boss-face'], [86, -17.6, -101], [164, -16.4, -24], 100],
  ] as const)('%s', (_, plane, min, max, least) => {
    const found = among(min, max).map((p) => Math.abs(dot(plane.normal, minus(p, plane.point))));
    const on = found.filter((d) => d < 1e-9);
    expect(on.length).toBeGreaterThan(least);
    // The boxes hold walls of holes as well, on the feet and the boss; on the drafted faces there is nothing else.
    if (plane === is.front || plane === is.side) expect(on.length).toBe(found.length);
  });

  test('bore, behind its chamfer', () => {
    const { point, direction, radius } = is.bore;
    const off = onScan.flatMap((p) => {
      const from = minus(p, point);
      const along = dot(from, direction);
      const around = Math.sqrt(dot(from, from) - along * along);
      return along > 2 - casting.boss.face && along < 80 && Math.abs(around - radius) < 3
        ? [Math.abs(around - radius)]
        : [];
    });
    expect(off.length).toBeGreaterThan(300);
    expect(Math.max(...off)).toBeLessThan(1e-9);
  });

  test('the wall under the rim of each bolt hole, and nothing deeper', () => {
    for (const { center, radius } of [is['left-hole'], is['right-hole']]) {
      const [x, y] = pointToPump(truth.frame, center);
      const inside = onPump.filter((p) => Math.hypot(p[0] - x, p[1] - y) < radius + 0.01 && p[2] > -60);
      const wall = inside.filter((p) => p[2] < 0).map((p) => Math.abs(Math.hypot(p[0] - x, p[1] - y) - radius));
      expect(wall.length).toBeGreaterThan(5);
      expect(Math.max(...wall)).toBeLessThan(1e-9);
      // The lever crosses over the right hole.
      expect(inside.filter((p) => p[2] < 10).every((p) => p[2] >= -2)).toBe(true);
    }
  });

  test('every point of the casting, wherever it is', () => {
    const off = onPump.map((p) => Math.abs(castingDistance(...p)));
    const bench = onPump.filter((p) => Math.abs(p[2] - casting.bottom) < 1e-9).length;
    const on = off.filter((d) => d < 1e-9).length;
    expect(bench).toBeGreaterThan(500);
    // Besides the bench there are 60 specks of 5 to 9 points.
    expect(on).toBeGreaterThan(onPump.length - bench - 60 * 9);
    expect(onPump.length - on).toBeGreaterThan(60 * 5);
  });
});

describe('a scan', () => {
  test('comes out the same from the same seed, another from another', () => {
    const [first, again, other] = [7, 7, 8].map((seed) => scanPump({ triangles: 6_000, seed }).scan);
    expect(again).toEqual(first);
    expect(other!.positions).not.toEqual(first!.positions);
  });

  test.each([20_000, 80_000])('has the density asked for: %i triangles', (triangles) => {
    const { scan } = scanPump({ triangles });
    expect(scan.triangles!.length / 3 / triangles).toBeGreaterThan(0.9);
    expect(scan.triangles!.length / 3 / triangles).toBeLessThan(1.1);
  });

  test('shows nothing of the bottom, and of the back no more than its upper edge', () => {
    const body = onPump.filter((p) => Math.abs(castingDistance(...p)) < 1e-9);
    expect(body.filter((p) => p[2] < casting.bottom + 3)).toHaveLength(0);
    const back = body.filter((p) => within(p, [20, 147, -90], [230, 156, -20]));
    expect(back).toHaveLength(0);
  });

  test('has triangles that face outward', () => {
    const t = clean.triangles!;
    let outward = 0;
    let inward = 0;
    for (let i = 0; i < t.length; i += 3) {
      const [a, b, c] = [onPump[t[i]!]!, onPump[t[i + 1]!]!, onPump[t[i + 2]!]!];
      const [u, v] = [minus(b, a), minus(c, a)];
      const n: Vec3 = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      const area = Math.sqrt(dot(n, n));
      if (area === 0 || Math.abs(castingDistance(...a)) > 1e-9) continue;
      const e = 0.5 / area;
      const middle = [0, 1, 2].map((axis) => (a[axis]! + b[axis]! + c[axis]!) / 3) as unknown as Vec3;
      const outside = castingDistance(middle[0] + e * n[0], middle[1] + e * n[1], middle[2] + e * n[2]);
      const inside = castingDistance(middle[0] - e * n[0], middle[1] - e * n[1], middle[2] - e * n[2]);
      if (outside > inside) outward++;
      else inward++;
    }
    expect(outward).toBeGreaterThan(20_000);
    // Where edges are sharp, the odd sliver folds.
    expect(inward / outward).toBeLessThan(0.002);
  });
});

test('surface nets close a sphere: every edge twice, volume 4/3 π r³ less what chords cut off', () => {
  const r = 10;
  const bounds: Bounds = { min: [-11.3, -11.1, -11.2], max: [11.4, 11.6, 11.5] };
  const { positions, triangles } = surfaceNets((x, y, z) => Math.hypot(x, y, z) - r, bounds, 0.5);
  const edges = new Map<string, number>();
  let volume = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => [...positions.subarray(3 * triangles[t + k]!, 3 * triangles[t + k]! + 3)]);
    volume +=
      (a![0]! * (b![1]! * c![2]! - b![2]! * c![1]!) +
        a![1]! * (b![2]! * c![0]! - b![0]! * c![2]!) +
        a![2]! * (b![0]! * c![1]! - b![1]! * c![0]!)) /
      6;
    for (let k = 0; k < 3; k++) {
      const [from, to] = [triangles[t + k]!, triangles[t + ((k + 1) % 3)]!];
      const key = from < to ? `${from} ${to}` : `${to} ${from}`;
      edges.set(key, (edges.get(key) ?? 0) + (from < to ? 1 : -1));
    }
  }
  // Each edge is run once in each direction.
  expect([...edges.values()].every((sum) => sum === 0)).toBe(true);
  const exact = (4 / 3) * Math.PI * r ** 3;
  // A chord of length l cuts l²/8r off the radius at most: 0.5 √2 mm across a cell.
  expect(volume).toBeLessThan(exact);
  expect(volume).toBeGreaterThan(exact * (1 - (3 * 0.5) / (8 * r * r)));
});

test('the correlated field has variance 1 and correlation exp(−r² / 2ℓ²)', () => {
  const length = 2;
  const side = 80;
  const field = correlatedField(seededRandom(3), { min: [0, 0, 0], max: [side, side, side] }, length);
  const random = seededRandom(4);
  const draws = 60_000;
  const correlationAt = (lag: number): number => {
    let sum = 0;
    for (let i = 0; i < draws; i++) {
      const [x, y, z] = [random.next(), random.next(), random.next()].map((u) => u * (side - lag));
      const axis = i % 3;
      sum +=
        field(x!, y!, z!) *
        field(x! + (axis === 0 ? lag : 0), y! + (axis === 1 ? lag : 0), z! + (axis === 2 ? lag : 0));
    }
    return sum / draws;
  };
  // Products of normal deviates spread by at most √2; the volume holds (80/2)³ ≫ draws independent cells. Four sigmas.
  const allowed = (4 * Math.SQRT2) / Math.sqrt(draws);
  for (const lag of [0, 1, 2, 3, 6]) {
    expect(Math.abs(correlationAt(lag) - Math.exp((-lag * lag) / (2 * length * length))), `at ${lag} mm`).toBeLessThan(
      allowed,
    );
  }
});
