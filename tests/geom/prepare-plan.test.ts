import {
  checkPlan,
  createScan,
  type Plan,
  PlanError,
  preparedScan,
  resultsToJson,
  runPlan,
  type Step,
} from '@fettle/geom';
import { expect, test } from 'vitest';
import { faceWithSpecks } from './prepare-shapes.js';

const plan = (...steps: unknown[]) => ({ version: 1, title: 'Face', steps });
/** What is wrong with a plan: `step field: expected …, found …`. */
const said = (...steps: unknown[]): string[] => {
  try {
    checkPlan(plan(...steps));
    return [];
  } catch (error) {
    if (!(error instanceof PlanError)) throw error;
    return error.problems.map(
      ({ step, field, expected, found }) => `${step} ${field}: expected ${expected}, found ${found}`,
    );
  }
};
const run = (scan: Parameters<typeof runPlan>[1], ...steps: Step[]) => runPlan(plan(...steps) as Plan, scan);

const region = { step: 'region', id: 'all-of-it', box: { min: [-1, -1, -1], max: [30, 30, 1] } } as const;
const fit = { step: 'fit', id: 'top', shape: 'plane', to: 'all-of-it' } as const;
const clean = { step: 'prepare', id: 'clean', pieces: { triangles: 2 } } as const;
const scan = faceWithSpecks(20, 3);

test('every form of the step is taken as it stands', () => {
  const forms = [
    { crop: { box: { min: [0, 0, 0], max: [1, 1, 1] } } },
    { crop: { sphere: { center: [0, 0, 0], radius: 4 }, drop: true } },
    { crop: { halfSpace: { point: [0, 0, 0], normal: [0, 0, 1] } } },
    { pieces: { area: 20, triangles: 100, share: 0.01 } },
    { strays: {} },
    { strays: { neighbors: 12, sigmas: 3 } },
    { thin: { cell: 0.5, keep: 'mean' } },
    { weld: {} },
    { weld: { within: 0.01 } },
    { duplicates: true },
    { slivers: { height: 0.001 } },
    {
      scale: {
        between: [
          [0, 0, 0],
          [1, 0, 0],
        ],
        is: 25.4,
      },
    },
  ];
  expect(said(...forms.map((form, i) => ({ step: 'prepare', id: `p-${i}`, ...form })))).toEqual([]);
});

test('a step that is not right says what it should hold', () => {
  expect(said({ step: 'prepare', id: 'p' })).toEqual([
    'p : expected one of crop, pieces, strays, thin, weld, duplicates, slivers, holes or scale, found none',
  ]);
  expect(said({ step: 'prepare', id: 'p', peices: { area: 1 } })).toEqual([
    'p : expected one of crop, pieces, strays, thin, weld, duplicates, slivers, holes or scale, found "peices"; did you mean "pieces"?',
  ]);
  expect(said({ step: 'prepare', id: 'p', crop: { drop: true } })).toEqual([
    'p crop: expected one of box, sphere or halfSpace, found {"drop":true}',
  ]);
  expect(said({ step: 'prepare', id: 'p', pieces: {} })).toEqual([
    'p pieces: expected area, triangles or share, found an empty object',
  ]);
  expect(said({ step: 'prepare', id: 'p', thin: { cell: 0 } })).toEqual([
    'p thin.cell: expected a number, more than 0, found 0',
  ]);
  const out = { step: 'deliver', id: 'out', scan: { format: 'ply', simplify: { triangles: 9, deviation: 1 } } };
  expect(said(out)).toEqual([
    'out scan.simplify: expected one of triangles and deviation, found {"triangles":9,"deviation":1}',
  ]);
});

test('a region chosen before points went cannot be used after: their numbers are others', () => {
  expect(said(region, clean, fit)).toEqual([
    'top to: expected a region or a section of the scan as "clean" left it, found "all-of-it", which is of the scan before; make it after that step',
  ]);
  expect(said(region, fit, clean, { ...fit, id: 'again', to: 'all' })).toEqual([]);
  const out = {
    step: 'deliver',
    id: 'out',
    scan: { format: 'ply', simplify: { triangles: 9, protect: ['all-of-it'] } },
  };
  expect(said(region, clean, out)).toHaveLength(1);
  expect(said(clean, region, out)).toEqual([]);
});

test('triangles alone may go between a region and its fit; points keep their numbers', () => {
  const whole = [region, { step: 'prepare', id: 'once', duplicates: true }, fit] as const;
  expect(said(...whole)).toEqual([]);
  const doubled = createScan({ ...scan, triangles: [...scan.triangles!, ...scan.triangles!.slice(0, 30)] });
  const results = run(doubled, ...whole);
  expect(results.warnings.map(({ message }) => message)).toEqual([
    'once: duplicate triangles left out: 10 of 813 triangles and 0 of 450 points.',
  ]);
  expect(results.sheet[0].used).toBe(441);
});

test('once a scale is applied nothing from before can be used', () => {
  const ball = { step: 'fit', id: 'ball', shape: 'sphere', to: 'all-of-it' };
  const other = { ...ball, id: 'other' };
  const scale = { step: 'prepare', id: 'gauge', scale: { between: ['ball', 'other'], is: 100, apply: true } };
  const apart = { step: 'measure', id: 'apart', distance: ['ball', 'other'] };
  expect(said(region, ball, other, scale, apart).map((line) => line.slice(0, line.indexOf(',')))).toEqual([
    'apart distance[0]: expected a plane',
    'apart distance[1]: expected a plane',
  ]);
  const check = { ...scale, scale: { ...scale.scale, apply: false } };
  expect(said(region, ball, other, check, apart)).toEqual([]);
  expect(said({ ...scale, in: 'ball' }).length).toBeGreaterThan(0);
});

test('later steps see the prepared scan, and the results tell what is missing', () => {
  const results = run(scan, clean, { ...fit, to: 'all' });
  expect(results.scan).toEqual({ name: 'face.ply', points: 450, triangles: 803 });
  expect(results.sheet[0].used).toBe(441);
  expect(results.warnings).toEqual([
    {
      code: 'scan-prepared',
      message: 'clean: 3 of 4 pieces left out: 3 of 803 triangles and 9 of 450 points.',
    },
  ]);
  expect(preparedScan(results.outcomes, scan, 'clean')).toBe(scan);
  expect(preparedScan(results.outcomes, scan, 'top').positions.length / 3).toBe(441);
  expect(resultsToJson(results).prepared).toEqual([
    {
      id: 'clean',
      words: '3 of 4 pieces left out: 3 of 803 triangles and 9 of 450 points',
      points: 441,
      triangles: 800,
      removedPoints: 9,
      removedTriangles: 3,
    },
  ]);
});

test('what changes nothing is not warned of', () => {
  const results = run(scan, { step: 'prepare', id: 'weld', weld: {} });
  expect(results.warnings).toEqual([]);
  expect(resultsToJson(results).prepared?.[0].words).toBe(
    'points at one place welded: 0 of 803 triangles and 0 of 450 points',
  );
});

test('cropped under a plane that was fitted, at an offset', () => {
  const crop = { step: 'prepare', id: 'low', crop: { halfSpace: { plane: 'top', offset: 6 } } } as const;
  const results = run(scan, region, fit, crop);
  // Above the face by more than 6 mm, on the side its normals point to: two of the three specks.
  expect(preparedScan(results.outcomes, scan).positions.length / 3).toBe(6);
  expect(said(region, fit, { ...crop, in: 'top' })).toEqual(['low in: expected a frame, found "top", a plane']);
});

test('a known length is checked, and applied only on request', () => {
  const between = [
    [0.2, 0, 0],
    [0, 9.9, 0.1],
  ] as const;
  const check = run(scan, { step: 'prepare', id: 'rule', scale: { between, is: 10.02 } } as Step);
  expect(check.warnings).toEqual([
    {
      code: 'known-length',
      message: 'rule: 10 mm on the scan is known to be 10.02 mm: a factor of 1.002, checked and not applied.',
    },
  ]);
  expect(preparedScan(check.outcomes, scan)).toBe(scan);
  expect(resultsToJson(check).prepared?.[0].length).toEqual({
    factor: 1.002,
    measured: 10,
    is: 10.02,
    applied: false,
    standard: expect.closeTo(0, 12),
  });
  const applied = run(scan, { step: 'prepare', id: 'rule', scale: { between, is: 254, apply: true } } as Step, {
    step: 'region',
    id: 'few',
    box: { min: [-1, -1, -1], max: [26, 26, 1] },
  });
  expect(applied.warnings[0].message).toBe(
    'rule: 10 mm on the scan is known to be 254 mm: all lengths were multiplied by 25.4.',
  );
  const few = applied.outcomes[1];
  expect(few.kind === 'region' && few.select.length).toBe(4);
});

test('holes are listed with the lengths of their rims, and nothing is filled', () => {
  // The face with one square of its lattice missing, and three specks: rims of 80, 4 and 2 + √2 mm.
  const holed = createScan({ ...scan, triangles: scan.triangles!.filter((_, c) => Math.floor(c / 6) !== 210) });
  const results = run(holed, region, { step: 'prepare', id: 'rims', holes: {} }, fit);
  expect(results.warnings[0]).toEqual({
    code: 'holes',
    message: 'rims: 5 boundary loops, of 80 mm, 4 mm, 3.414 mm and less.',
  });
  expect(preparedScan(results.outcomes, holed)).toBe(holed);
  const told = resultsToJson(results).prepared?.[0].holes;
  expect(told?.map(({ points, closed }) => [points, closed])).toEqual([
    [80, true],
    [4, true],
    [3, true],
    [3, true],
    [3, true],
  ]);
  // Square 210 is the eleventh of the eleventh row; its rim starts at one of its corners.
  expect(['10,10,0', '11,10,0', '10,11,0', '11,11,0']).toContain(told?.[1].at.join());
  const long = run(holed, { step: 'prepare', id: 'rims', holes: { over: 3.5 } });
  expect(long.warnings[0].message).toBe('rims: 2 boundary loops over 3.5 mm, of 80 mm and 4 mm.');
});

test('a step that does not fit the scan names itself', () => {
  expect(() => run(scan, { step: 'prepare', id: 'dust', strays: {} })).toThrow(
    'dust: face.ply: stray points are of clouds, and this is a mesh. Drop its small pieces.',
  );
});
