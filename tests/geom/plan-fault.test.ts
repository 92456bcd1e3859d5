import {
  checkPlan,
  type FailedStep,
  type FettleError,
  type Plan,
  PlanError,
  passable,
  resultsToJson,
  runPlan,
  simplifyDeliveries,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { judge } from '../../packages/geom/src/plan/step/judge.js';
import { part } from './plan-part.js';

// The block of plan-part.ts: its true places are plain numbers there.

const { scan, axes } = part({ step: 4 });
const at = (p: Vec3) => [...axes.toScan(p)];
const plan = (...steps: unknown[]): Plan => checkPlan({ version: 1, title: 'Block', steps });
const skin = (id: string, center: Vec3, radius: number, more = {}) => ({
  step: 'region',
  id: `${id}-skin`,
  sphere: { center: at(center), radius },
  ...more,
});
const plane = (id: string, more = {}) => ({ step: 'fit', id, shape: 'plane', to: `${id}-skin`, ...more });
const top = [skin('top', [70, 40, 0], 20), plane('top')];
const front = [skin('front', [60, -0.5, -10], 11), plane('front')];
const side = [skin('side', [-0.35, 40, -10], 11), plane('side')];
/** In the air: nothing is found there. */
const air = (id: string, more = {}) => [skin(id, [0, 0, 900], 1, more), plane(id)];
const frame = (id = 'datum', planes = ['top', 'front', 'side']) => ({ step: 'frame', id, planes });
const ball = [
  skin('ball', [90, 50, 30], 13),
  { step: 'fit', id: 'ball', shape: 'sphere', to: 'ball-skin', limits: { diameter: { max: 24.1 }, x: { max: 91 } } },
];

const fates = (failed: readonly FailedStep[]) =>
  failed.map(({ id, code, waitsFor, leftOut }) => [id, code, waitsFor, leftOut]);

describe('one failing step', () => {
  test('loses what rests on it, and nothing else; what failed and what waits for what is listed', () => {
    const told: string[] = [];
    const measure = { step: 'measure', id: 'far-off', distance: ['far', 'top'] };
    const cad = { step: 'deliver', id: 'cad', cad: { in: 'datum', items: ['top'] } };
    const results = runPlan(plan(...top, ...air('far'), measure, ...front, ...side, frame(), ...ball, cad), scan, {
      onFailed: ({ id }) => told.push(id),
    });
    expect(fates(results.failed)).toEqual([
      ['far-skin', 'region-empty', undefined, undefined],
      ['far', 'step-waits', 'far-skin', undefined],
      ['far-off', 'step-waits', 'far', undefined],
    ]);
    expect(told).toEqual(['far-skin', 'far', 'far-off']);
    expect(results.passed).toBe(false);
    expect(resultsToJson(results).failed).toEqual(results.failed);
    // All else is as without those steps, digit for digit.
    const without = runPlan(plan(...top, ...front, ...side, frame(), ...ball, cad), scan);
    expect(results.sheet).toEqual(without.sheet);
    expect(results.outcomes.map(({ id }) => id)).toEqual(without.outcomes.map(({ id }) => id));
    expect(resultsToJson(without)).not.toHaveProperty('failed');
    expect(without.passed).toBe(true);
  });

  test('is thrown where nothing could be measured, and where that is asked for', () => {
    const code = (run: () => unknown): string => {
      try {
        run();
      } catch (error) {
        return (error as FettleError).code;
      }
      return 'nothing thrown';
    };
    const deliver = { step: 'deliver', id: 'copy', scan: { format: 'ply' } };
    expect(code(() => runPlan(plan(...air('far'), deliver), scan))).toBe('region-empty');
    expect(code(() => runPlan(plan(...air('far', { optional: true })), scan))).toBe('region-empty');
    const steps = plan(...top, ...air('far'), ...front);
    expect(code(() => runPlan(steps, scan))).toBe('nothing thrown');
    expect(code(() => runPlan(steps, scan, { stopAtFault: true }))).toBe('region-empty');
  });

  test('that is the frame leaves sizes, but no coordinates in other axes, nor verdicts on them', () => {
    const lost = runPlan(plan(...top, ...front, ...air('side'), frame(), ...ball), scan);
    const row = lost.sheet.find(({ id }) => id === 'ball')!;
    expect(row.frame).toBe('datum');
    expect(row.values.map(({ name, verdict }) => [name, verdict])).toEqual([['diameter', 'within']]);
    expect(row.values[0]!.value).toBeCloseTo(24, 6);
    expect(row.warnings.map(({ code }) => code)).toContain('frame-missing');
    // In the frame the ball is where the block has it.
    const whole = runPlan(plan(...top, ...front, ...side, frame(), ...ball), scan);
    const places = whole.sheet.find(({ id }) => id === 'ball')!.values;
    expect(places.map(({ name }) => name)).toEqual(['x', 'y', 'z', 'diameter']);
    expect(places[2]!.value).toBeCloseTo(30, 6);
  });

  test('that is the last frame holds back what is delivered in it by default, never in an earlier one', () => {
    const results = runPlan(
      plan(
        ...top,
        ...front,
        ...side,
        frame(),
        ...air('far'),
        { step: 'deliver', id: 'cad', cad: {} },
        { step: 'deliver', id: 'from-above', drawing: { view: 'top' } },
        { step: 'deliver', id: 'picture', picture: {} },
        { step: 'deliver', id: 'cad-there', cad: { in: 'datum' } },
        { step: 'deliver', id: 'report', report: {} },
        frame('other', ['far', 'front', 'side']),
      ),
      scan,
    );
    expect(results.frameId).toBe('datum');
    expect(fates(results.failed).slice(2)).toEqual([
      ['cad', 'step-waits', 'other', undefined],
      ['from-above', 'step-waits', 'other', undefined],
      ['picture', 'step-waits', 'other', undefined],
      ['other', 'step-waits', 'far', undefined],
    ]);
    expect(results.outcomes.flatMap((o) => (o.kind === 'deliver' ? [o.id] : []))).toEqual(['cad-there', 'report']);
  });

  test('that is a delivery leaves the others: one asking for fewer triangles than are protected', async () => {
    const copy = (id: string, triangles: number) => ({
      step: 'deliver',
      id,
      scan: { format: 'ply', simplify: { triangles, protect: ['top-skin'] } },
    });
    const total = scan.triangles!.length / 3;
    const measured = runPlan(plan(...top, copy('few', 5), copy('half', Math.round(total / 2))), scan);
    const results = await simplifyDeliveries(measured, scan);
    expect(fates(results.failed)).toEqual([['few', 'simplify-protected', undefined, undefined]]);
    expect(results.passed).toBe(false);
    const [half] = results.outcomes.flatMap((o) => (o.kind === 'deliver' ? [o] : []));
    expect(half!.id).toBe('half');
    expect(half!.simplified!.scan.triangles.length / 3).toBeLessThanOrEqual(Math.round(total / 2));
  });

  test('that is bound to fail is told as soon as what it names is there, before the others are measured', () => {
    const copy = (id: string, simplify: object) => ({ step: 'deliver', id, scan: { format: 'ply', simplify } });
    const told: string[] = [];
    const { failed } = runPlan(
      plan(
        ...top,
        ...front,
        copy('few', { triangles: 5, protect: ['top-skin'] }),
        copy('many', { triangles: 1e6, protect: ['top-skin'] }),
        copy('all-fits', { triangles: 5 }),
      ),
      scan,
      { onStep: ({ id }) => told.push(id), onFailed: ({ id, code }) => told.push(`${id} ${code}`) },
    );
    expect(told).toEqual([
      'top-skin',
      'few simplify-protected',
      'top',
      'front-skin',
      'front',
      'few',
      'many',
      'all-fits',
      'all-fits simplify-protected',
    ]);
    expect(fates(failed)).toEqual([
      ['few', 'simplify-protected', undefined, undefined],
      ['all-fits', 'simplify-protected', undefined, undefined],
    ]);
    // As simplifying itself counts it: corners of the triangles about the protected points.
    expect(failed[0]!.message).toMatch(/^few: .* triangles are protected; it cannot come down to 5\./);
  });
});

describe('an optional step', () => {
  test('that fails is left out with what rests on it, and the job passes', () => {
    const results = runPlan(plan(...top, ...air('far', { optional: true }), ...front), scan);
    expect(fates(results.failed)).toEqual([
      ['far-skin', 'region-empty', undefined, true],
      ['far', 'step-waits', 'far-skin', true],
    ]);
    expect(results.passed).toBe(true);
    expect(results.outcomes.map(({ id }) => id)).toEqual(['top-skin', 'top', 'front-skin', 'front']);
    // Nothing is left out where it does not fail.
    const [region, fit] = front;
    const whole = runPlan(plan(...top, { ...region, optional: true }, fit), scan);
    expect(whole.failed).toEqual([]);
  });

  test('covers no other: what also rests on a step that is not optional fails the job', () => {
    const both = { step: 'construct', id: 'edge', intersect: ['may', 'must'] };
    const results = runPlan(plan(...top, ...air('may', { optional: true }), ...air('must'), both), scan);
    expect(fates(results.failed).at(-1)).toEqual(['edge', 'step-waits', 'must', undefined]);
    expect(results.passed).toBe(false);
    const left = runPlan(plan(...top, ...air('may'), { ...plane('face'), to: 'may-skin', optional: true }), scan);
    expect(fates(left.failed).at(-1)).toEqual(['face', 'step-waits', 'may-skin', true]);
    expect(left.passed).toBe(false);
  });

  test('may be any kind of step, and is true or false', () => {
    const kinds = [
      { step: 'prepare', id: 'trim', crop: { halfSpace: { point: at([0, 0, 900]), normal: [...axes.z] } } },
      skin('top', [70, 40, 0], 20),
      plane('top'),
      { step: 'construct', id: 'above', offset: 'top', by: 5 },
      { step: 'section', id: 'cut', axis: 'z', at: 640 },
      { step: 'measure', id: 'far-off', distance: ['above', 'top'] },
      { step: 'by-hand', id: 'pin', size: 16 },
      { step: 'deliver', id: 'report', report: {} },
    ];
    expect(plan(...kinds.map((step) => ({ ...step, optional: true }))).steps.every(({ optional }) => optional)).toBe(
      true,
    );
    expect(() => plan({ ...kinds[1], optional: 'yes' })).toThrow(PlanError);
  });
});

describe('a limit where the quantity itself ends', () => {
  test('cannot be passed: within, and sure', () => {
    const noisy = part({ step: 4, noise: 0.02 }).scan;
    const square = { step: 'measure', id: 'square', angle: ['top', 'side'], limits: { max: 90 } };
    const apart = { step: 'measure', id: 'apart', parallelism: 'top', to: 'top', limits: { min: 0 } };
    const results = runPlan(plan(...top, ...side, square, apart), noisy);
    for (const id of ['square', 'apart']) {
      const [value] = results.sheet.find((row) => row.id === id)!.values;
      expect(value).toMatchObject({ verdict: 'within' });
      expect(passable(value!)).toEqual({});
    }
    const unsure = judged(89.937, 0.1, { max: 90 }, { min: 0, max: 90 });
    expect(unsure).toEqual({ verdict: 'within', warnings: [] });
    // A limit short of the end is judged as ever.
    expect(judged(89.937, 0.1, { max: 89.9 }, { min: 0, max: 90 })).toEqual({
      verdict: 'outside',
      warnings: ['limit-within-uncertainty'],
    });
  });
});

function judged(value: number, uncertainty: number, limits: object, ends: object) {
  const { values, warnings } = judge([{ name: 'angle', value, unit: '°', uncertainty, ends }], { angle: limits });
  return { verdict: values[0]!.verdict, warnings: warnings.map(({ code }) => code) };
}
