import { createScan, curvatures, type Scan, seededRandom } from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { cloudOf, torus } from './section-solids.js';

const random = seededRandom(8);
/** Points of a surface by chance, of two parameters from 0 to 1. */
const scatter = (count: number, at: (s: number, t: number) => number[]): Scan =>
  createScan({ positions: Array.from({ length: count }, () => at(random.next(), random.next())).flat() });
const indices = (scan: Scan) => Array.from({ length: scan.positions.length / 3 }, (_, p) => p);
const place = ({ positions }: Scan, p: number) => [...positions.subarray(3 * p, 3 * p + 3)] as [number, number, number];

describe('principal curvatures', () => {
  it('of a ball are its radius, inverted, in every direction', () => {
    const ball = scatter(8000, (s, t) => {
      const [z, angle] = [2 * s - 1, 2 * Math.PI * t];
      const r = Math.sqrt(1 - z * z);
      return [10 * r * Math.cos(angle), 10 * r * Math.sin(angle), 10 * z];
    });
    const { most, least, known } = curvatures(ball);
    expect(known.every((k) => k === 1)).toBe(true);
    for (const p of indices(ball)) {
      expect(Math.abs(most[p]! - 0.1)).toBeLessThan(0.002);
      expect(Math.abs(least[p]! - 0.1)).toBeLessThan(0.002);
    }
  });

  it('of a cylinder are 1/r around it and 0 along it; seen from inside the same, negative', () => {
    const cylinder = scatter(12_000, (s, t) => [
      5 * Math.cos(2 * Math.PI * s),
      5 * Math.sin(2 * Math.PI * s),
      40 * t - 20,
    ]);
    const outward = Float32Array.from(cylinder.positions, (c, i) => (i % 3 === 2 ? 0 : c / 5));
    const outside = { ...cylinder, normals: outward };
    const inside = { ...cylinder, normals: outward.map((c) => -c) };
    const [out, within] = [curvatures(outside), curvatures(inside)];
    for (const p of indices(cylinder)) {
      const [x, y, z] = place(cylinder, p);
      if (Math.abs(z) > 18) continue;
      expect(Math.abs(out.most[p]! - 0.2)).toBeLessThan(0.004);
      expect(Math.abs(out.least[p]!)).toBeLessThan(0.004);
      expect(within.least[p]!).toBeCloseTo(-out.most[p]!, 10);
      const [dx, dy, dz] = out.direction.subarray(3 * p, 3 * p + 3);
      expect(Math.abs(dx! * -y + dy! * x) / 5).toBeGreaterThan(0.99);
      expect(Math.abs(dz!)).toBeLessThan(0.1);
    }
  });

  // do Carmo, Differential Geometry of Curves and Surfaces, 3-3, example 5: 1/r and cos θ / (R + r cos θ).
  it.each([
    ['mesh', torus(20, 6, 240)],
    ['cloud', cloudOf(torus(20, 6, 240)) as Scan],
  ])('of a torus, as a %s, those that its equation gives, negative toward the hole', (_, scan) => {
    const { most, least } = curvatures(scan);
    let worst = 0;
    for (const p of indices(scan)) {
      const [x, y, z] = place(scan, p);
      // The axis is one of the three: the coordinate that never passes the minor radius.
      const cosine = (Math.hypot(x, y, z) ** 2 - 400 - 36) / 240;
      worst = Math.max(worst, Math.abs(most[p]! - 1 / 6), Math.abs(least[p]! - cosine / (20 + 6 * cosine)));
    }
    expect(worst).toBeLessThan(0.01 / 6);
  });

  it('of a saddle bend both ways, and of a plane not at all', () => {
    const saddle = scatter(5000, (s, t) => [2 * s - 1, 2 * t - 1, 0.15 * ((2 * s - 1) ** 2 - (2 * t - 1) ** 2)]);
    const up = { ...saddle, normals: Float32Array.from(saddle.positions, (_, i) => (i % 3 === 2 ? 1 : 0)) };
    const { most, least } = curvatures(up);
    for (const p of indices(up)) {
      if (Math.hypot(...place(up, p)) > 0.1) continue;
      expect(most[p]!).toBeCloseTo(0.3, 2);
      expect(least[p]!).toBeCloseTo(-0.3, 2);
    }
    const flat = curvatures(scatter(500, (s, t) => [s, t, 0]));
    expect(Math.max(...flat.most.map(Math.abs), ...flat.least.map(Math.abs))).toBeLessThan(1e-9);
  });

  it('noise averages out over more neighbors', () => {
    const rough = scatter(10_000, (s, t) => {
      const r = 10 + 0.02 * random.normal();
      return [r * Math.cos(2 * Math.PI * s), r * Math.sin(2 * Math.PI * s), 20 * t];
    });
    const off = (neighbors: number) => {
      const { most } = curvatures(rough, { neighbors });
      const all = indices(rough).filter((p) => Math.abs(place(rough, p)[2] - 10) < 7);
      return Math.sqrt(all.reduce((sum, p) => sum + (most[p]! - 0.1) ** 2, 0) / all.length);
    };
    const [few, many] = [off(30), off(150)];
    expect(many).toBeLessThan(few / 5);
    expect(many).toBeLessThan(0.02);
  });

  it('are not known of strays in a line, and not of points left out', () => {
    const line = createScan({ positions: Array.from({ length: 40 }, (_, i) => [i, 0, 0]).flat() });
    expect(curvatures(line).known.some((k) => k === 1)).toBe(false);
    const plane = { ...scatter(100, (s, t) => [s, t, 0]), select: Uint32Array.from({ length: 50 }, (_, i) => i) };
    expect([...curvatures(plane).known].reduce((a, b) => a + b)).toBe(50);
    expect(() => curvatures(line, { neighbors: 5 })).toThrow(/cannot be taken from 5 points/);
  });
});
