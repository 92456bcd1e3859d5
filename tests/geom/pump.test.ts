import { readFileSync } from 'node:fs';
import { checkPlan, type Plan, type Results, runPlan, type Vec3 } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { pointToPump } from '../../examples/pump/pose.js';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { trueValue } from '../../examples/pump/true-values.js';
import type { Truth } from '../../examples/pump/truth.js';
import { type Expectation, expectationOf } from './pump-expectation.js';

const plan: Plan = checkPlan(
  JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8')),
);
const { scan, truth } = scanPump({ triangles: 150_000 });
const results = runPlan(plan, scan);

/**
 * A deviation past this many expected standard deviations is not noise: of the some fifty numbers compared here, one in
 * 300 runs would show one by chance.
 */
const sigmas = 4;

function outcome<K extends Results['outcomes'][number]['kind']>(id: string, kind: K) {
  const found = results.outcomes.find((o) => o.id === id);
  if (found?.kind !== kind) throw new Error(`${id} is no ${kind}`);
  return found as Extract<Results['outcomes'][number], { kind: K }>;
}

const point = (i: number): Vec3 => [scan.positions[3 * i]!, scan.positions[3 * i + 1]!, scan.positions[3 * i + 2]!];

/** The scanned wall under the rim of the right hole: what the section through it interpolates between. */
function wallUnderRightRim(): Vec3[] {
  const { center, radius } = truth.onPump['right-hole'];
  return Array.from({ length: scan.positions.length / 3 }, (_, i) => point(i)).filter((p) => {
    const [x, y, z] = pointToPump(truth.frame, p);
    return z > -2 && z < -0.2 && Math.abs(Math.hypot(x - center[0], y - center[1]) - radius) < 0.3;
  });
}

type FittedId = 'top' | 'front' | 'side' | 'left-hole' | 'right-hole' | 'bore' | 'boss-face' | 'knob';

function expected(id: FittedId): Expectation {
  const { fit } = outcome(id, 'fit');
  const points = id === 'right-hole' ? wallUnderRightRim() : [...fit.used].map(point);
  return expectationOf(
    fit.feature as Parameters<typeof expectationOf>[0],
    truth.onScan[id],
    points,
    truth,
    id === 'right-hole' ? 'radius' : undefined,
  );
}

const fitted: readonly FittedId[] = ['top', 'front', 'side', 'left-hole', 'right-hole', 'bore', 'boss-face', 'knob'];
const expectations = new Map(fitted.map((id) => [id, expected(id)]));

describe('each fitted feature is where the noise lets it be', () => {
  test.each(fitted)('%s', (id) => {
    const { names, moved, sigmas: sigma } = expectations.get(id)!;
    names.forEach((name, k) => {
      expect(sigma[k]).toBeGreaterThan(0);
      expect(Math.abs(moved[k]!), `${name}, ± ${sigma[k]}`).toBeLessThan(sigmas * sigma[k]!);
    });
  });
});

/** Largest expected standard deviation among the parameters of a fit whose names begin so. */
const sigmaOf = (id: FittedId, kind: 'shift' | 'tilt'): number => {
  const { names, sigmas: sigma } = expectations.get(id)!;
  return Math.max(...names.flatMap((name, k) => (name.startsWith(kind) ? [sigma[k]!] : [])));
};
/** Of a place on a plane or an axis at some distance from the middle of what was fitted. */
const sigmaAt = (id: FittedId, p: Vec3): number =>
  Math.hypot(
    sigmaOf(id, 'shift'),
    sigmaOf(id, 'tilt') * Math.hypot(...p.map((c, k) => c - expectations.get(id)!.at[k]!)),
  );

describe('the job sheet holds the truth: each value within twice the ± it states, four standard uncertainties', () => {
  test.each(results.sheet.map((row) => [row.id, row] as const))('%s', (_, row) => {
    for (const value of row.values) {
      const is = trueValue(truth, plan, row, value);
      if (is === undefined || value.uncertainty === undefined) continue;
      expect(Math.abs(value.value - is), `${value.name} ± ${value.uncertainty}`).toBeLessThanOrEqual(
        2 * value.uncertainty + 1e-9,
      );
    }
  });

  // 95 in 100 should; of some 150 that hang together in part, fewer than 88 in 100 come by chance once in some hundred scans.
  test('and at least 88 in 100 of them within the ± itself', () => {
    const held = results.sheet.flatMap((row) =>
      row.values.flatMap((value) => {
        const is = trueValue(truth, plan, row, value);
        if (is === undefined || !value.uncertainty) return [];
        return [Math.abs(value.value - is) <= value.uncertainty];
      }),
    );
    expect(held.length).toBeGreaterThan(140);
    expect(held.filter(Boolean).length / held.length).toBeGreaterThanOrEqual(0.88);
  });

  test.each([
    ['bore-pin', 'diameter', 'thinner'],
    ['face-square', 'perpendicularity', 'wider'],
    ['feet-coplanarity', 'coplanarity', 'wider'],
    ['feet-flatness', 'flatness', 'wider'],
    ['foot-edge', 'straightness', 'wider'],
    ['bore-roundness', 'roundness', 'wider'],
    ['bore-form', 'cylindricity', 'wider'],
  ])('%s %s is moved by the noise itself, %s, and its ± says so', (id, name, way) => {
    const row = results.sheet.find((one) => one.id === id)!;
    const value = row.values.find((one) => one.name === name)!;
    const off = value.value - trueValue(truth, plan, row, value)!;
    expect(Math.sign(off)).toBe(way === 'thinner' ? -1 : 1);
    // Several of the points' own standard deviations, which averaging over thousands would have taken out.
    expect(Math.abs(off)).toBeGreaterThan(0.05);
    expect(Math.abs(off)).toBeLessThan(value.uncertainty!);
    expect(value.uncertainty).toBeLessThan(2.5 * Math.abs(off));
  });

  test('caliper and scan weighed together tell a diameter better than either alone', () => {
    const told = results.sheet.find((row) => row.id === 'left-hole')!.values.find((v) => v.name === 'diameter')!;
    // The caliper's ± 0.04 mm is two standard uncertainties; Student's factor widens what rests on few residuals.
    expect(told.uncertainty).toBeLessThan(0.05);
    const { known } = outcome('left-hole', 'fit').fit;
    expect(told.uncertainty).toBeLessThan(2 * 2 * known![0]!.uncertainty);
    expect(known![0]!.multiples).toBeLessThan(2);
  });

  test('there is a true value for nearly every one', () => {
    const all = results.sheet.flatMap((row) => row.values.map((value) => trueValue(truth, plan, row, value)));
    expect(all.length).toBeGreaterThan(160);
    expect(all.filter((is) => is === undefined)).toHaveLength(0);
  });
});

describe('what is built on the fitted features is where theirs let it be', () => {
  const inDegrees = 180 / Math.PI;
  const mouth = truth.onScan['bore-mouth'].position;
  const knob = truth.onScan.knob.center;
  test.each([
    ['holes-apart', 'distance', Math.hypot(sigmaOf('left-hole', 'shift'), sigmaOf('right-hole', 'shift'))],
    ['bore-depth', 'distance', Math.hypot(sigmaAt('bore', mouth), sigmaAt('top', mouth))],
    ['knob-height', 'distance', Math.hypot(sigmaOf('knob', 'shift'), sigmaAt('top', knob))],
    ['front-draft', 'angle', inDegrees * Math.hypot(sigmaOf('front', 'tilt'), sigmaOf('top', 'tilt'))],
    ['side-draft', 'angle', inDegrees * Math.hypot(sigmaOf('side', 'tilt'), sigmaOf('top', 'tilt'))],
    ['front-to-side', 'angle', inDegrees * Math.hypot(sigmaOf('front', 'tilt'), sigmaOf('side', 'tilt'))],
  ] as const)('%s', (id, name, sigma) => {
    const row = results.sheet.find((r) => r.id === id)!;
    const value = row.values.find((v) => v.name === name)!;
    expect(Math.abs(value.value - trueValue(truth, plan, row, value)!), `± ${sigma}`).toBeLessThan(sigmas * sigma);
  });
});

test('the datum frame: origin within 0.05 mm, axes within 0.02°', () => {
  expectFrame(results, truth);
});

test.each([2, 3, 4])('the datum frame on a coarse scan of another seed: %i', (seed) => {
  const other = scanPump({ triangles: 60_000, seed });
  const last = plan.steps.findIndex(({ step }) => step === 'frame');
  expectFrame(runPlan({ ...plan, steps: plan.steps.slice(0, last + 1) }, other.scan), other.truth);
});

function expectFrame({ frame }: Results, { frame: is }: Truth): void {
  const off = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
  expect(off(frame!.origin, is.origin)).toBeLessThan(0.05);
  for (const axis of ['x', 'y', 'z'] as const)
    expect((off(frame![axis], is[axis]) * 180) / Math.PI, axis).toBeLessThan(0.02);
}
