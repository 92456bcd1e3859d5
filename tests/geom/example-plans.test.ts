import { readFileSync } from 'node:fs';
import { checkPlan, type Plan } from '@fettle/geom';
import { expect, test } from 'vitest';

const planOf = (name: string): Plan =>
  checkPlan(JSON.parse(readFileSync(new URL(`../../examples/${name}/plan.json`, import.meta.url), 'utf8')));
const steps = [...planOf('pump').steps, ...planOf('table-mug').steps] as unknown as readonly Record<string, unknown>[];
const fits = steps.filter(({ step }) => step === 'fit');
const having = (field: string): readonly unknown[] => fits.filter((fit) => fit[field] !== undefined);

// What a newcomer learns from by looking it up in an example: every kind is in one of them.
test.each(['plane', 'line', 'circle', 'sphere', 'cylinder', 'cone', 'slot', 'ellipse'])('a %s is fitted', (shape) => {
  expect(fits.some((fit) => fit.shape === shape)).toBe(true);
});

test.each([
  ['minimum-zone', ['circle', 'cylinder', 'line', 'plane', 'sphere']],
  ['maximum-inscribed', ['circle', 'cylinder']],
  ['minimum-circumscribed', ['circle', 'cylinder']],
] as const)('%s of %j, some points trimmed', (criterion, shapes) => {
  const own = fits.filter((fit) => fit.criterion === criterion);
  expect([...new Set(own.map(({ shape }) => shape))].sort()).toEqual(shapes);
  for (const fit of own) expect(fit.trim).toBeGreaterThan(0);
});

test.each(['robust', 'suggest', 'reject', 'known', 'screw', 'fit'])('a fit with %s', (field) => {
  expect(having(field).length).toBeGreaterThan(0);
});

test('known values: taken as given, weighed in, a direction, that of another feature', () => {
  const known = fits.flatMap((fit) => (fit.known ? [fit.known as Record<string, unknown>] : []));
  expect(known).toContainEqual({ diameter: 18 });
  expect(known).toContainEqual({ diameter: { value: 18, uncertainty: 0.04, prior: true } });
  expect(known).toContainEqual({ direction: [1, 0, 0] });
  expect(known).toContainEqual({ direction: 'table' });
});

test.each([
  ...['intersect', 'midplane', 'boltCircle', 'row', 'grid'].map((name) => ['construct', name]),
  ...['distance', 'angle', 'parallelism', 'perpendicularity', 'position', 'coaxiality', 'symmetry'].map((name) => [
    'measure',
    name,
  ]),
  ...['coplanarity', 'stepHeight'].map((name) => ['measure', name]),
  ...['size', 'distance'].map((name) => ['by-hand', name]),
  ...['scan', 'cad', 'drawing', 'report'].map((name) => ['deliver', name]),
])('a step %s: %s', (step, name) => {
  expect(steps.some((one) => one.step === step && one[name!] !== undefined)).toBe(true);
});

test('the bolt circle misses a hole', () => {
  const ring = steps.find((one) => one.boltCircle !== undefined)!;
  expect((ring.boltCircle as unknown[]).length).toBeLessThan(ring.places as number);
});
