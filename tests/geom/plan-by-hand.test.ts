import {
  checkPlan,
  createScan,
  type PlanError,
  type Results,
  resultsToJson,
  runPlan,
  type StepOutcome,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { part } from './plan-part.js';

// The block's hole is ⌀ 16 at (40, 30), its ball ⌀ 24 at (90, 50, 30), its foot 25 under the top: see plan-part.ts.

const { scan, axes } = part({ noise: 0.02, seed: 5 });
const inScan = (p: Vec3) => [...axes.toScan(p)];

const base = [
  { step: 'region', id: 'hole-wall', sphere: { center: inScan([40, 30, -10]), radius: 9.9 } },
  { step: 'region', id: 'ball-skin', sphere: { center: inScan([90, 50, 30]), radius: 13 } },
];
const ball = { step: 'fit', id: 'ball', shape: 'sphere', to: 'ball-skin' };
const hole = { step: 'fit', id: 'hole', shape: 'cylinder', to: 'hole-wall' };
const run = (...steps: unknown[]): Results =>
  runPlan(checkPlan({ version: 1, title: 'Block', steps: [...base, ...steps] }), scan);
const rowOf = ({ sheet }: Results, id: string) => sheet.find((row) => row.id === id)!;
const byHand = ({ outcomes }: Results, id: string) =>
  outcomes.find((o) => o.id === id) as Extract<StepOutcome, { kind: 'by-hand' }>;
const objections = (...steps: unknown[]): readonly string[] => {
  try {
    checkPlan({ version: 1, title: 'Block', steps: [...base, ...steps] });
  } catch (error) {
    return (error as PlanError).problems.map((p) => `${p.field}: ${p.expected}, not ${p.found}`);
  }
  return [];
};

test('a size by hand has a row with a balloon, and beside it what the scan says of the feature', () => {
  const caliper = {
    step: 'by-hand',
    id: 'ball-size',
    size: 24.02,
    uncertainty: 0.05,
    instrument: 'caliper',
    of: 'ball',
  };
  const results = run(ball, { ...caliper, note: 'across the equator' });
  const row = rowOf(results, 'ball-size');
  expect(row).toMatchObject({
    balloon: 2,
    step: 'by-hand',
    what: 'diameter of ball by hand, caliper',
    note: 'across the equator',
    warnings: [],
  });
  const [size, onScan, difference] = row.values;
  expect(size).toEqual({ name: 'diameter', value: 24.02, unit: 'mm', uncertainty: 0.05 });
  const measured = rowOf(results, 'ball').values.find(({ name }) => name === 'diameter')!;
  expect(onScan).toEqual({ ...measured, name: 'on-scan' });
  expect(difference!.value).toBeCloseTo(measured.value - 24.02, 12);
  // Of neither less than of the hand nor of the scan alone, whatever their factors.
  expect(difference!.uncertainty).toBeGreaterThan(Math.max(0.05, measured.uncertainty!));
  expect(row.uncertainty).toMatch(
    /^by hand and on the scan 0\.0\d+ mm apart, \d\.\d combined standard .*: they agree$/,
  );
});

test('whether they agree is told in multiples of the combined standard uncertainty', () => {
  const steps = (size: number, uncertainty?: number) =>
    run(ball, { step: 'by-hand', id: 'b', size, of: 'ball', ...(uncertainty && { uncertainty }) });
  // JCGM 100, 5.1.2: the scan's standard uncertainty and half the ± of the caliper, added in squares.
  const scanAlone = byHand(steps(24), 'b').onScan!.combined;
  const { onScan, warnings } = byHand(steps(24.3, 0.1), 'b');
  expect(onScan!.combined).toBeCloseTo(Math.hypot(scanAlone, 0.05), 12);
  expect(onScan!.multiples).toBeCloseTo(Math.abs(onScan!.scan - 24.3) / Math.hypot(scanAlone, 0.05), 9);
  expect(onScan!.multiples).toBeGreaterThan(5);
  expect(warnings.map(({ code }) => code)).toEqual(['by-hand-disagrees']);
  expect(warnings[0]!.message).toMatch(
    /^The diameter of ball by hand, 24\.3 mm, and on the scan, 2[34](\.\d+)? mm, differ/,
  );
  expect(byHand(steps(24.3, 0.7), 'b').warnings).toEqual([]);
});

test('a distance by hand beside that between two features, whichever way it is signed', () => {
  // From the ball's center to the hole's axis: hypot(50, 20).
  const distance = Math.hypot(50, 20);
  const given = { step: 'by-hand', uncertainty: 0.1, instrument: 'height gauge' };
  const along = { distance: 50, between: ['p', 'q'], along: 'x', in: 'block' };
  const results = run(
    hole,
    ball,
    { ...given, id: 'apart', distance: 53.9, between: ['ball', 'hole'] },
    { step: 'construct', id: 'p', point: inScan([90, 50, 30]) },
    { step: 'construct', id: 'q', point: inScan([40, 30, 0]) },
    { step: 'region', id: 'top-skin', sphere: { center: inScan([70, 40, 0]), radius: 12 } },
    { step: 'fit', id: 'top', shape: 'plane', to: 'top-skin' },
    { step: 'construct', id: 'r', point: inScan([90, 30, 0]) },
    { step: 'construct', id: 'edge', through: ['q', 'r'] },
    { step: 'frame', id: 'block', plane: 'top', line: 'edge', origin: 'q', plus: { plane: 'z', line: 'x' } },
    { ...given, id: 'along-x', ...along },
  );
  // The ball stands 40 mm over what is seen of the hole's axis: the lean of that enters the ±.
  const apart = byHand(results, 'apart').onScan!;
  expect(Math.abs(apart.scan - distance)).toBeLessThan(apart.uncertainty!);
  expect(apart.uncertainty).toBeLessThan(0.2);
  expect(apart.difference).toBeCloseTo(apart.scan - 53.9, 12);
  expect(apart.multiples).toBeLessThan(2);
  expect(rowOf(results, 'apart').what).toBe('distance from ball to hole by hand, height gauge');
  expect(byHand(results, 'along-x').onScan!.scan).toBeCloseTo(50, 1);
  expect(rowOf(results, 'along-x').what).toBe('distance from p to q along x of block by hand, height gauge');
});

test('a feature takes its size from the caliper and its place from the scan; both rows say how they agree', () => {
  const caliper = { step: 'by-hand', id: 'bore', size: 16.1, uncertainty: 0.04 };
  const results = run(caliper, { ...hole, known: { diameter: 'bore' } }, { ...hole, id: 'free' });
  const outcome = results.outcomes.find(({ id }) => id === 'hole') as Extract<StepOutcome, { kind: 'fit' }>;
  const free = results.outcomes.find(({ id }) => id === 'free') as Extract<StepOutcome, { kind: 'fit' }>;
  expect(outcome.fit.feature).toMatchObject({ radius: 8.05 });
  expect(outcome.fit.known![0]!.free).toBeCloseTo((free.fit.feature as { radius: number }).radius, 9);
  const { multiples, factor } = outcome.fit.known![0]!;
  const diameter = 2 * (outcome.fit.known![0]!.free as number);
  const row = rowOf(results, 'hole');
  expect(row.what).toContain('diameter 16.1 ± 0.04 mm of bore given');
  expect(row.uncertainty).toContain(
    `diameter ${Number(diameter.toFixed(3))} mm, off by ${multiples.toFixed(1)} combined`,
  );
  expect(rowOf(results, 'bore')).toMatchObject({
    balloon: 1,
    what: 'size by hand',
    values: [{ name: 'size', value: 16.1, uncertainty: 0.04 }],
    uncertainty: `taken by hole, whose points alone say ${Number(diameter.toFixed(3))} mm, off by ${multiples.toFixed(1)} combined standard uncertainties, more than the ${factor.toFixed(1)} of 95 %: they disagree`,
  });
});

test('the same size as a radius, and weighed against the points', () => {
  const pin = { step: 'by-hand', id: 'r', size: 8.1, uncertainty: 0.02 };
  const fitOf = (results: Results) =>
    (results.outcomes.find(({ id }) => id === 'hole') as Extract<StepOutcome, { kind: 'fit' }>).fit;
  expect(fitOf(run(pin, { ...hole, known: { radius: 'r' } })).feature).toMatchObject({ radius: 8.1 });
  const { radius } = fitOf(run(pin, { ...hole, known: { radius: { from: 'r', prior: true } } })).feature as {
    radius: number;
  };
  const written = { value: 8.1, uncertainty: 0.02, prior: true };
  expect(fitOf(run({ ...hole, known: { radius: written } })).feature).toMatchObject({ radius });
  expect(radius).toBeGreaterThan(8);
  expect(radius).toBeLessThan(8.1);
});

test('a size is not held against a feature that took it, nor weighed without a ±', () => {
  const bore = { step: 'by-hand', id: 'bore', size: 16.1 };
  const taken = { ...hole, known: { diameter: 'bore' } };
  const fault = (...steps: unknown[]): string => run(...steps).failed[0]!.message;
  expect(fault(bore, taken, { step: 'by-hand', id: 'again', size: 16.1, of: 'hole' })).toMatch(
    /^again: "hole" has its size from the plan, not from the scan/,
  );
  expect(fault(bore, { ...hole, known: { diameter: { from: 'bore', prior: true } } })).toMatch(
    /^hole: "bore" has no uncertainty to be weighed against the points by\. State its ± in that step/,
  );
  // Without a ± the size is one the plan gives.
  const results = run(bore, taken);
  expect(rowOf(results, 'bore').values[0]).toMatchObject({ value: 16.1, given: true });
  expect(rowOf(results, 'hole').values.find(({ name }) => name === 'diameter')).toMatchObject({ given: true });
});

test('limits judge what was read by hand, and say when the ± leaves the verdict open', () => {
  const of = (size: number) =>
    run({ step: 'by-hand', id: 'bore', size, uncertainty: 0.03, limits: { min: 16, max: 16.1 } });
  expect(of(16.05).passed).toBe(true);
  expect(of(16.05).sheet[0]!.warnings).toEqual([]);
  expect(of(16.12).passed).toBe(false);
  expect(of(16.12).sheet[0]!.values[0]).toMatchObject({ name: 'size', verdict: 'outside' });
  expect(of(16.12).sheet[0]!.warnings.map(({ code }) => code)).toEqual(['limit-within-uncertainty']);
});

test('a size read off the part outlives what is done to the scan', () => {
  const length = { between: [inScan([0, 0, 0]), inScan([100, 0, 0])], is: 100, apply: true };
  const scaled = { step: 'prepare', id: 'scaled', scale: length };
  const again = { step: 'region', id: 'again', sphere: { center: [0, 0, 0], radius: 5000 } };
  const wall = { ...hole, to: 'again', known: { diameter: 'bore' } };
  expect(objections({ step: 'by-hand', id: 'bore', size: 16 }, scaled, again, wall)).toEqual([]);
});

test('results as JSON tell what was read, with what, and how it agrees', () => {
  const read = { step: 'by-hand', id: 'b', size: 24, uncertainty: 0.05, instrument: 'micrometer', of: 'ball' };
  const json = JSON.parse(JSON.stringify(resultsToJson(run(ball, read))));
  expect(json.byHand).toEqual([
    {
      id: 'b',
      name: 'diameter',
      value: 24,
      uncertainty: 0.05,
      instrument: 'micrometer',
      onScan: {
        scan: expect.any(Number),
        uncertainty: expect.any(Number),
        difference: expect.any(Number),
        differenceUncertainty: expect.any(Number),
        combined: expect.any(Number),
        factor: 2,
        multiples: expect.any(Number),
      },
    },
  ]);
});

test('what cannot be measured so is told before the scan is read', () => {
  const of = (step: object) => objections(ball, hole, { step: 'by-hand', id: 'm', ...step });
  expect(of({ size: 24, of: 'ball' })).toEqual([]);
  expect(of({ size: 24, of: 'bal' })[0]).toMatch(/^of: .*; did you mean "ball"\?$/);
  expect(of({ size: 24, of: 'ball-skin' })[0]).toMatch(/not "ball-skin", a region$/);
  expect(of({ size: 24, of: 'ball', dimension: 'width' })).toEqual(['dimension: diameter of a sphere, not width']);
  expect(of({ size: 24, dimension: 'width' })).toEqual(['dimension: a feature in of, not none']);
  expect(of({ size: -1 })).toEqual(['size: a number, more than 0, not -1']);
  expect(of({ distance: 5, between: ['ball', 'hole'], in: 'ball' })[0]).toMatch(/^in: a frame, not "ball", a sphere$/);
  expect(of({})[0]).toMatch(/one of size or distance, not none$/);
  const slot = { step: 'fit', id: 'slot', shape: 'slot', to: 'hole-wall' };
  expect(objections(slot, { step: 'by-hand', id: 'm', size: 9, of: 'slot' })).toEqual([
    'dimension: length or width of a slot, not nothing',
  ]);
  expect(objections({ ...hole, known: { diameter: 'ball-skin' } })).toEqual([
    'known.diameter: a size, not "ball-skin", a region',
  ]);
});

describe('what the tables say of a size read off the part', () => {
  const planWith = (step: object) => ({
    version: 1,
    title: 'Hole',
    steps: [{ step: 'by-hand', id: 'hole', ...step }],
  });
  const scan = createScan({ positions: new Float64Array(9), name: 'none' });
  const wordsOf = (step: object) => runPlan(checkPlan(planWith(step)), scan).sheet[0]!.advice!.join(' ');

  // ISO 273: M8 fine 8.4, medium 9.0, coarse 10.0 (from memory). ISO 286-2: 25 H7 +21/0, g6 −7/−20 µm (from memory).
  test('the screw a hole is for, with its drills', () => {
    expect(wordsOf({ size: 9.04, uncertainty: 0.05, screw: true })).toMatch(
      /Nearest clearance hole \(ISO 273\): M8 medium, 9 mm .*drill 9 mm to clear, 6\.8 mm to tap/,
    );
  });

  test('limits of a class, and a fit, in mm and thousandths of an inch', () => {
    expect(wordsOf({ size: 25.01, fit: 'H7' })).toBe(
      'H7 of 25 mm: 25 to 25.021 mm (984.25 to 985.08 thousandths of an inch); measured 25.01 mm: within H7.',
    );
    expect(wordsOf({ size: 25.4, fit: 'H7/g6', nominal: 25 })).toMatch(
      /^H7\/g6 of 25 mm: clearance 0\.007 to 0\.041 mm .*; as the hole measured 25\.4 mm: outside H7; as the shaft .*: outside g6\.$/,
    );
    // A caliper's ± 0.03 is more than all of H7 of 25 mm, 0.021; H8 ends at 25.033, 0.012 farther up, H9 at 25.052, 0.031.
    expect(wordsOf({ size: 25.01, uncertainty: 0.03, fit: 'H7' })).toMatch(
      /measured 25\.01 ± 0\.03 mm: within H7 or outside, the ± does not tell; it cannot tell H7 from H8\. To be sure, .* ± 0\.002 mm\.$/,
    );
  });

  test.each([
    [{ size: 25, fit: 'Z7' }, /fit/],
    [{ size: 25, nominal: 25 }, /nominal.*a class in fit/],
    [{ size: 300, screw: true }, /screw.*300 mm is outside/],
  ])('%j is refused by the check of the plan', (step, message) => {
    expect(() => checkPlan(planWith(step))).toThrow(message);
  });
});
