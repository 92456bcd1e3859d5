import { minimumZoneSphere, type Sphere, seededRandom, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { constructed, contactError, extremeDistances, imbalance, minus, pointOf, unit } from './criteria-contacts.js';

test('points placed so that five known contacts hold a known shell: those contacts, that sphere', () => {
  const random = seededRandom(1);
  for (let trial = 0; trial < 60; trial++) {
    const made = constructed(random, 'sphere', 'both', 300);
    const center = made.point.map((c) => c + 0.03 * random.normal()) as unknown as Vec3;
    const found = minimumZoneSphere({ positions: made.positions }, { start: { kind: 'sphere', center, radius: 19.9 } });
    expect(Math.hypot(...minus(found.feature.center, made.point))).toBeLessThan(1e-10);
    expect(Math.abs(found.feature.radius - made.radius)).toBeLessThan(1e-10);
    expect(Math.abs(found.form - made.width)).toBeLessThan(1e-10);
    expect(found.contacts.map((c) => c.index).sort()).toEqual(made.contacts);
  }
});

test('scanned balls and caps: contacts stand at the extremes and balance, and no small move does better', () => {
  const random = seededRandom(2);
  for (let trial = 0; trial < 80; trial++) {
    const n = 20 + random.below(2000);
    const noise = 10 ** (-4 * random.next());
    const cap = [-1, -1, 0, 0.9][trial % 4];
    const positions = new Float64Array(3 * n);
    for (let i = 0; i < n; i++) {
      const c = cap + (1 - cap) * random.next();
      const t = 2 * Math.PI * random.next();
      const r = 20 + noise * random.normal();
      const s = Math.sqrt(1 - c * c);
      positions.set([r * s * Math.cos(t), r * s * Math.sin(t), r * c], 3 * i);
    }
    const found = minimumZoneSphere({ positions }, { start: { kind: 'sphere', center: [0, 0, 0], radius: 20 } });
    const { feature, contacts, form } = found;
    expect(contactError(found, positions)).toBeLessThan(1e-11);
    const rows = contacts.map((c) => unit(minus(feature.center, pointOf(positions, c.index))));
    const { residue, pull } = imbalance(contacts, rows as unknown as number[][]);
    expect(residue).toBeLessThan(1e-9);
    expect(pull).toBeLessThan(1e-9);
    for (let k = 0; k < 20; k++) {
      const by = noise * 10 ** (-5 * random.next());
      const center = feature.center.map((c) => c + by * random.normal()) as unknown as Vec3;
      const { low, high } = extremeDistances({ ...feature, center }, positions);
      expect(high - low).toBeGreaterThan(form - 1e-11);
    }
  }
});

test('four points are refused; an exact sphere, each point twice, has no width', () => {
  const random = seededRandom(3);
  const once = Array.from({ length: 50 }, () => unit([random.normal(), random.normal(), random.normal()])).flat();
  const start: Sphere = { kind: 'sphere', center: [0.01, 0, 0], radius: 1 };
  expect(minimumZoneSphere({ positions: Float64Array.from([...once, ...once]) }, { start }).form).toBeLessThan(1e-14);
  expect(() => minimumZoneSphere({ positions: Float64Array.from(once.slice(0, 12)) }, { start })).toThrow(
    /at least 5 points/,
  );
});
