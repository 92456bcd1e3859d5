import { readFileSync } from 'node:fs';
import { checkPlan, FettleError, type Plan, planRunner, resultsToJson, runPlan, type Step } from '@fettle/geom';
import { expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { part } from './plan-part.js';

// What a fresh run gives is the measure of what a run that keeps earlier steps gives, digit for digit.

const pump = scanPump({ triangles: 20_000 }).scan;
const pumpPlan = checkPlan(JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8')));

const { scan, axes } = part();
const inScan = (p: readonly [number, number, number]) => [...axes.toScan(p)];
const block = (steps: unknown[]): Plan => checkPlan({ version: 1, title: 'Block', steps });
const top = [
  { step: 'region', id: 'top-skin', sphere: { center: inScan([70, 40, 0]), radius: 12 } },
  { step: 'fit', id: 'top', shape: 'plane', to: 'top-skin' },
];
const front = [
  { step: 'region', id: 'front-skin', sphere: { center: inScan([60, -0.5, -10]), radius: 9 } },
  { step: 'fit', id: 'front', shape: 'plane', to: 'front-skin' },
];
const edge = { step: 'construct', id: 'edge', intersect: ['top', 'front'] };

/** Which of the outcomes are the very objects of an earlier run. */
const keptOf = (now: ReturnType<typeof runPlan>, before: ReturnType<typeof runPlan>): string[] =>
  now.outcomes.filter((outcome) => before.outcomes.includes(outcome)).map(({ id }) => id);

test('the pump measured five steps more at each run comes out as if measured at once', () => {
  const runner = planRunner(pump);
  for (let count = 5; count < pumpPlan.steps.length; count += 5)
    runner.run({ ...pumpPlan, steps: pumpPlan.steps.slice(0, count) });
  const { results } = runner.run(pumpPlan);
  // Of so coarse a scan some steps fail, in both.
  expect(results.failed.length).toBeGreaterThan(0);
  expect(results.outcomes.length).toBeGreaterThan(30);
  expect(resultsToJson(results)).toEqual(resultsToJson(runPlan(pumpPlan, pump)));
});

test('steps that are as they were keep what they gave; what rests on a changed one does not', () => {
  const runner = planRunner(scan);
  const before = runner.run(block([...top, ...front, edge])).results;
  const again = runner.run(block([...top, ...front, edge])).results;
  expect(keptOf(again, before)).toEqual(['top-skin', 'top', 'front-skin', 'front', 'edge']);

  const tighter = { ...top[1], reject: 3 };
  const plan = block([top[0], tighter, ...front, edge]);
  const changed = runner.run(plan).results;
  expect(keptOf(changed, before)).toEqual(['top-skin', 'front-skin', 'front']);
  expect(resultsToJson(changed)).toEqual(resultsToJson(runPlan(plan, scan)));
});

test('a new frame shows in the rows of steps that were kept', () => {
  const runner = planRunner(scan);
  const side = [
    { step: 'region', id: 'side-skin', sphere: { center: inScan([-0.35, 40, -10]), radius: 9 } },
    { step: 'fit', id: 'side', shape: 'plane', to: 'side-skin' },
  ];
  const steps = [...top, ...front, ...side];
  runner.run(block(steps));
  const plan = block([...steps, { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'] }]);
  const { results } = runner.run(plan);
  expect(results.sheet.map((row) => row.frame)).toEqual(['datum', 'datum', 'datum', 'datum']);
  expect(resultsToJson(results)).toEqual(resultsToJson(runPlan(plan, scan)));
});

test('a size by hand tells which fits took it, as they come and go', () => {
  const runner = planRunner(scan);
  const steps = [
    { step: 'by-hand', id: 'pin', size: 16.02, uncertainty: 0.02 },
    { step: 'region', id: 'wall', sphere: { center: inScan([40, 30, -10]), radius: 9.5 } },
  ];
  const known = { diameter: { from: 'pin', prior: true } };
  const bore = { step: 'fit', id: 'bore', shape: 'cylinder', to: 'wall', known };
  const wordsOf = ({ sheet }: ReturnType<typeof runPlan>) => sheet.find(({ id }) => id === 'pin')?.uncertainty;
  const words = (plan: Plan) => wordsOf(runner.run(plan).results);
  expect(words(block(steps))).toBeUndefined();
  const plan = block([...steps, bore]);
  expect(words(plan)).toMatch(/taken by bore/);
  expect(words(plan)).toBe(wordsOf(runPlan(plan, scan)));
  expect(words(block(steps))).toBeUndefined();
});

test('a step that fails says why, those resting on it say for which step they wait, and the others go on', () => {
  const runner = planRunner(scan);
  const far = { step: 'region', id: 'top-skin', sphere: { center: [0, 0, 0], radius: 1 } };
  const { results, refusals } = runner.run(block([far, top[1], ...front, edge]));
  expect(results.outcomes.map(({ id }) => id)).toEqual(['front-skin', 'front']);
  expect(refusals.map(({ id, waitsFor, error }) => [id, waitsFor, (error as FettleError).code])).toEqual([
    ['top-skin', undefined, 'region-empty'],
    ['top', 'top-skin', 'step-waits'],
    ['edge', 'top', 'step-waits'],
  ]);
  expect((refusals[0].error as Error).message).toMatch(/^top-skin: /);
  expect((refusals[2].error as Error).message).toMatch(/^edge: waits for "top"/);
  const mended = block([...top, ...front, edge]);
  expect(resultsToJson(runner.run(mended).results)).toEqual(resultsToJson(runPlan(mended, scan)));
  // Run strictly the same plan stops at the step that fails, with that step's own error.
  expect(() => runPlan(block([far, top[1], ...front, edge]), scan, { stopAtFault: true })).toThrow(/^top-skin: /);
});

test('all that follows a step that changes the scan is run again when that step changes', () => {
  const runner = planRunner(scan);
  const steps = (depth: number): Step[] => [
    ...block([
      ...top,
      { step: 'prepare', id: 'cut', crop: { halfSpace: { point: inScan([0, 0, depth]), normal: [...axes.z] } } },
      { step: 'region', id: 'front-left', sphere: { center: inScan([60, -0.5, -10]), radius: 9 } },
      { step: 'fit', id: 'front', shape: 'plane', to: 'front-left' },
    ]).steps,
  ];
  const before = runner.run({ version: 1, title: 'Block', steps: steps(-22) }).results;
  const plan: Plan = { version: 1, title: 'Block', steps: steps(-15) };
  const after = runner.run(plan).results;
  expect(keptOf(after, before)).toEqual(['top-skin', 'top']);
  expect(resultsToJson(after)).toEqual(resultsToJson(runPlan(plan, scan)));
  // Cropped to nothing: what follows would be measured on the wrong scan, and waits.
  const { results, refusals } = runner.run({ version: 1, title: 'Block', steps: steps(900) });
  expect(results.outcomes.map(({ id }) => id)).toEqual(['top-skin', 'top']);
  expect(refusals.map(({ id, waitsFor }) => [id, waitsFor])).toEqual([
    ['cut', undefined],
    ['front-left', 'cut'],
    ['front', 'cut'],
  ]);
});

test('called off between steps', () => {
  let seen = 0;
  const signal = {
    get aborted() {
      return ++seen > 2;
    },
  };
  expect(() => planRunner(scan).run(block([...top, ...front]), { signal })).toThrow(FettleError);
});

test('a plan that names perMetre is measured as one that names perMeter, and says so', () => {
  const ball = { step: 'region', id: 'near', sphere: { center: inScan([70, 40, 0]), radius: 12 } };
  const told = (scanner: unknown) =>
    planRunner(scan).run(
      checkPlan({
        version: 1,
        title: 'Block',
        scanner,
        steps: [ball, { step: 'fit', id: 'face', shape: 'plane', to: 'near' }],
      }),
    ).results;
  const before = told({ accuracy: 0.02, perMetre: 3 });
  const now = told({ accuracy: 0.02, perMeter: 3 });
  expect(before.warnings.map(({ code }) => code)).toEqual(['earlier-name']);
  expect(now.warnings).toEqual([]);
  expect(before.sheet).toEqual(now.sheet);
  expect(before.sheet).not.toEqual(told({ accuracy: 0.02 }).sheet);
});
