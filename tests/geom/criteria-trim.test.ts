import {
  type Circle,
  maximumInscribedCircle,
  minimumCircumscribedCircle,
  minimumZoneCircle,
  minimumZonePlane,
  type Plane,
  seededRandom,
} from '@fettle/geom';
import { expect, test } from 'vitest';
import { distanceTo, pointOf } from './criteria-contacts.js';

const plane: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
const circle: Circle = { kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius: 10 };

function face(n: number): Float64Array {
  const random = seededRandom(1);
  return Float64Array.from({ length: 3 * n }, (_, k) => (k % 3 === 2 ? 0.05 : 100) * random.normal());
}

function hole(n: number): Float64Array {
  const random = seededRandom(2);
  return Float64Array.from(
    Array.from({ length: n }, () => {
      const t = 2 * Math.PI * random.next();
      const r = 10 + 0.05 * random.normal();
      return [r * Math.cos(t), r * Math.sin(t), 0];
    }).flat(),
  );
}

test('a zone loses half of the share on either side: the points farthest from the start, by index among equals', () => {
  const positions = face(1000);
  const found = minimumZonePlane({ positions }, { start: plane, trim: 0.0135 });
  const byHeight = Array.from({ length: 1000 }, (_, i) => i).sort(
    (a, b) => positions[3 * a + 2] - positions[3 * b + 2],
  );
  // ⌊0.0135 · 1000 / 2⌋ = 6 on each side.
  expect([...found.trimmed]).toEqual([...byHeight.slice(0, 6), ...byHeight.slice(-6)].sort((a, b) => a - b));
  expect(found.trim).toBe(0.0135);
  const kept = Uint32Array.from(byHeight.slice(6, -6).sort((a, b) => a - b));
  const alone = minimumZonePlane({ positions, select: kept }, { start: plane });
  expect(found.form).toBeCloseTo(alone.form, 14);
  expect([...found.contacts].sort((a, b) => a.index - b.index)).toEqual(
    [...alone.contacts].sort((a, b) => a.index - b.index),
  );
});

test('a pin loses the whole share inside, a ring outside', () => {
  const positions = hole(1000);
  const byDistance = Array.from({ length: 1000 }, (_, i) => i).sort(
    (a, b) => distanceTo(circle, pointOf(positions, a)) - distanceTo(circle, pointOf(positions, b)),
  );
  const pin = maximumInscribedCircle({ positions }, { start: circle, trim: 0.01 });
  expect([...pin.trimmed]).toEqual(byDistance.slice(0, 10).sort((a, b) => a - b));
  const ring = minimumCircumscribedCircle({ positions }, { start: circle, trim: 0.01 });
  expect([...ring.trimmed]).toEqual(byDistance.slice(-10).sort((a, b) => a - b));
});

test('indices returned are those of the scan when some of its points are selected', () => {
  const positions = hole(1000);
  const select = Uint32Array.from({ length: 400 }, (_, i) => 999 - 2 * i);
  const { contacts, trimmed, feature, form } = minimumZoneCircle({ positions, select }, { start: circle, trim: 0.02 });
  const chosen = new Set(select);
  expect(trimmed).toHaveLength(8);
  for (const i of [...trimmed, ...contacts.map((c) => c.index)]) expect(chosen.has(i)).toBe(true);
  for (const { index, side } of contacts)
    expect(distanceTo(feature, pointOf(positions, index))).toBeCloseTo(feature.radius + (side * form) / 2, 12);
});

test('one speck in 10,000 decides the pin without trim, and nothing with it', () => {
  const positions = hole(10_000);
  const clean = maximumInscribedCircle({ positions }, { start: circle, trim: 0.001 });
  positions.set([5, 0, 0], 0);
  expect(maximumInscribedCircle({ positions }, { start: circle }).feature.radius).toBeLessThan(9);
  const trimmed = maximumInscribedCircle({ positions }, { start: circle, trim: 0.001 });
  expect(Math.abs(trimmed.feature.radius - clean.feature.radius)).toBeLessThan(0.02);
});

test('among equals the later point goes first, and the result does not depend on chance', () => {
  const positions = Float64Array.from([0, 0, 1, 1, 0, 1, 0, 1, 1, 1, 1, 1, 5, 0, 0, 0, 5, 0, 5, 5, 0, 9, 9, 0]);
  const run = () => minimumZonePlane({ positions }, { start: { ...plane, point: [0, 0, 0.5] }, trim: 0.25 });
  expect([...run().trimmed]).toEqual([3, 7]);
  expect(run()).toEqual(run());
});

test('a share of half or more, below zero, or no number is refused', () => {
  for (const trim of [0.5, 1, -0.1, Number.NaN])
    expect(() => minimumZonePlane({ positions: face(10) }, { start: plane, trim })).toThrow(/from 0 to below 0.5/);
});
