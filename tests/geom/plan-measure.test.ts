import { checkPlan, type FettleError, type PlanError, type Results, runPlan, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { part } from './plan-part.js';

// The part's true places are given in its own axes; see plan-part.ts. Zones follow from ISO 1101 and those places.

const { scan, axes } = part();
const inScan = (p: Vec3) => [...axes.toScan(p)];

const base = [
  { step: 'region', id: 'patch', sphere: { center: inScan([70, 40, 0]), radius: 12 } },
  { step: 'fit', id: 'rough', shape: 'plane', to: 'patch' },
  { step: 'region', id: 'top-skin', off: { feature: 'rough', min: -0.1, max: 0.1 } },
  { step: 'fit', id: 'top', shape: 'plane', to: 'top-skin' },
  { step: 'region', id: 'front-skin', sphere: { center: inScan([60, -0.5, -10]), radius: 9 } },
  { step: 'fit', id: 'front', shape: 'plane', to: 'front-skin' },
  { step: 'region', id: 'side-skin', sphere: { center: inScan([-0.35, 40, -10]), radius: 9 } },
  { step: 'fit', id: 'side', shape: 'plane', to: 'side-skin' },
  { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'], plus: { plane: 'z', line: '-x' } },
  { step: 'region', id: 'hole-wall', box: { min: [30, 20, -19.9], max: [50, 40, -0.1] }, in: 'datum' },
  { step: 'fit', id: 'hole', shape: 'cylinder', to: 'hole-wall' },
  { step: 'region', id: 'ball-skin', sphere: { center: [90, 50, 30], radius: 13 }, in: 'datum' },
  { step: 'fit', id: 'ball', shape: 'sphere', to: 'ball-skin' },
  { step: 'region', id: 'foot-skin', box: { min: [59, 29, -26], max: [101, 71, -24] }, in: 'datum' },
  { step: 'fit', id: 'foot', shape: 'plane', to: 'foot-skin' },
];
const run = (...steps: unknown[]): Results =>
  runPlan(checkPlan({ version: 1, title: 'Block', steps: [...base, ...steps] }), scan);
/** Every measure of this file in one run. */
const measures: readonly Record<string, unknown>[] = [
  { id: 'foot-parallel', parallelism: 'foot', to: 'top' },
  { id: 'hole-square', perpendicularity: 'hole', to: 'top' },
  { id: 'front-square', perpendicularity: 'front', to: 'top' },
  { id: 'hole-place', position: 'hole', in: 'datum', at: [40.3, 30.4, 0] },
  { id: 'ball-place', position: 'ball', in: 'datum', at: [90, 50, 29] },
  { id: 'ball-above', position: 'ball', in: 'datum', at: [90.5, 50, 29], along: 'z' },
  { id: 'foot-place', position: 'foot', in: 'datum', at: [0, 0, -24.8] },
  { id: 'coaxial', coaxiality: 'hole', to: 'axis' },
  { id: 'middle', symmetry: ['top', 'foot'], to: 'mid' },
  { id: 'ball-middle', symmetry: 'ball', to: 'mid' },
  { id: 'rise', stepHeight: ['top', 'foot'] },
  { id: 'one-face', coplanarity: ['top', 'top-anew'] },
  { id: 'apart', coplanarity: ['top', 'foot'] },
];
const all = run(
  { step: 'construct', id: 'p', point: [40.2, 30, 0], in: 'datum' },
  { step: 'construct', id: 'q', point: [40.2, 30, 50], in: 'datum' },
  { step: 'construct', id: 'axis', through: ['p', 'q'] },
  { step: 'construct', id: 'mid', offset: 'top', by: -12.4 },
  { step: 'fit', id: 'top-anew', shape: 'plane', to: 'top-skin' },
  ...measures.map((m) => ({ step: 'measure', ...m })),
);
const measured = (id: string) => {
  const row = all.sheet.find((r) => r.id === id)!;
  return { what: row.what, ...row.values[0] };
};
const failure = (of: object): FettleError => {
  try {
    const steps = [...base, { step: 'measure', id: 'm', ...of }];
    runPlan(checkPlan({ version: 1, title: 'Block', steps }), scan, { stopAtFault: true });
  } catch (error) {
    return error as FettleError;
  }
  throw new Error('nothing failed');
};

test('orientation: foot parallel to top, hole square to it, front leaning 3° over what was seen of it', () => {
  expect(measured('foot-parallel')).toMatchObject({
    name: 'parallelism',
    unit: 'mm',
    what: 'parallelism of foot to top',
  });
  expect(measured('foot-parallel').value).toBeCloseTo(0, 8);
  expect(measured('hole-square').value).toBeCloseTo(0, 8);
  // The patch of the front is a disk of about 18 mm: seen along the edge it leans 18 sin 3° off square.
  expect(measured('front-square').value).toBeGreaterThan(16 * Math.sin((3 * Math.PI) / 180));
  expect(measured('front-square').value).toBeLessThan(18 * Math.sin((3 * Math.PI) / 180));
});

test('position: twice the distance from where the drawing wants it', () => {
  expect(measured('hole-place')).toMatchObject({
    name: 'position',
    what: 'position of hole at 40.3, 30.4, 0 in datum',
  });
  expect(measured('hole-place').value).toBeCloseTo(1, 7);
  expect(measured('ball-place').value).toBeCloseTo(2, 7);
  expect(measured('ball-above').value).toBeCloseTo(1, 7);
  expect(measured('foot-place').value).toBeCloseTo(0.4, 7);
});

test('coaxiality and symmetry', () => {
  expect(measured('coaxial').value).toBeCloseTo(0.4, 7);
  expect(measured('coaxial').what).toBe('coaxiality of hole to axis');
  expect(measured('middle').value).toBeCloseTo(0.2, 7);
  expect(measured('middle').what).toBe('symmetry of top and foot about mid');
  expect(measured('ball-middle').value).toBeCloseTo(2 * 42.4, 7);
});

test('two faces: their step and the zone that holds both', () => {
  expect(measured('rise')).toMatchObject({ name: 'step-height', what: 'step from top to foot' });
  expect(measured('rise').value).toBeCloseTo(-25, 7);
  expect(measured('one-face').value).toBeCloseTo(0, 7);
  expect(measured('apart').value).toBeGreaterThan(10);
});

test('every zone has an uncertainty', () => {
  for (const { id } of measures) expect(measured(id as string).uncertainty, id as string).toBeGreaterThanOrEqual(0);
});

test('a face that was constructed has no extent for a zone to hold', () => {
  const constructed = { step: 'construct', id: 'made', offset: 'top', by: 5 };
  const steps = [...base, constructed, { step: 'measure', id: 'm', parallelism: 'made', to: 'top' }];
  expect(() => runPlan(checkPlan({ version: 1, title: 'Block', steps }), scan, { stopAtFault: true })).toThrow(
    'm: "made" was constructed and has no extent: a zone holds a plane where it was seen. Name the fit it comes from.',
  );
});

test('what is square is not parallel: the step says so', () => {
  const error = failure({ parallelism: 'front', to: 'top' });
  expect(error.code).toBe('wrong-way');
  expect(error.message).toMatch(/^m: The surface is 87° off/);
});

test('references of zones are checked before the scan is read', () => {
  const bad = (of: object) => {
    try {
      checkPlan({ version: 1, title: 'Block', steps: [...base, { step: 'measure', id: 'm', ...of }] });
    } catch (error) {
      return (error as PlanError).problems.map((p) => `${p.field}: ${p.expected}, not ${p.found}`);
    }
    return [];
  };
  expect(bad({ parallelism: 'ball', to: 'top' })).toEqual([
    'parallelism: a plane, a line, a cylinder or a cone, not "ball", a sphere',
  ]);
  expect(bad({ coaxiality: 'hole', to: 'top' })).toEqual([
    'to: a line, a circle, a cylinder, a cone, a slot or an ellipse, not "top", a plane',
  ]);
  expect(bad({ position: 'hole', at: [0, 0, 0] })).toEqual(['in: a text, not nothing']);
  expect(bad({ symmetry: ['top', 'hole'], to: 'foot' })).toEqual(['symmetry[1]: a plane, not "hole", a cylinder']);
  expect(bad({ coplanarity: ['top', 'foot'], trim: 0.7 })).toEqual(['trim: a number, less than 0.5, not 0.7']);
});

test('a section of the block: the hole as a circle at its depth, the front as a line', () => {
  const fine = part({ step: 0.5 });
  const steps = [
    ...base,
    { step: 'section', id: 'cut', axis: 'z', at: -10, in: 'datum' },
    {
      step: 'fit',
      id: 'rim',
      shape: 'circle',
      to: 'cut',
      stretch: { sphere: { center: [40, 30, -10], radius: 10 } },
      in: 'datum',
    },
    {
      step: 'fit',
      id: 'wall',
      shape: 'line',
      to: 'cut',
      stretch: { from: [20, -0.5, -10], to: [100, -0.5, -10] },
      in: 'datum',
      limits: { y: { min: -0.53, max: -0.52 } },
    },
    { step: 'section', id: 'along', plane: 'top', offset: -10 },
    {
      step: 'fit',
      id: 'again',
      shape: 'circle',
      to: 'along',
      stretch: { box: { min: [30, 20, -11], max: [50, 40, -9] } },
      in: 'datum',
      plane: 'top',
    },
  ];
  const results = runPlan(checkPlan({ version: 1, title: 'Block', steps }), fine.scan);
  const value = (id: string, name: string) =>
    results.sheet.find((r) => r.id === id)!.values.find((v) => v.name === name)!.value;
  // Triangles 0.5 mm wide stand in for the round wall: chords are 0.5² / 8 · 8 = 0.004 mm inside at most.
  expect(Math.abs(value('rim', 'diameter') - 16)).toBeLessThan(0.008);
  expect(value('rim', 'x')).toBeCloseTo(40, 3);
  expect(value('rim', 'y')).toBeCloseTo(30, 3);
  expect(value('rim', 'z')).toBeCloseTo(-10, 8);
  // The front leans back 3°: 10 mm under the edge it stands 10 tan 3° before it.
  expect(value('wall', 'y')).toBeCloseTo(-10 * Math.tan((3 * Math.PI) / 180), 6);
  expect(value('wall', 'angle-x')).toBeCloseTo(0, 6);
  expect(results.sheet.find((r) => r.id === 'wall')!.values.find((v) => v.name === 'y')!.verdict).toBe('within');
  // Fitted in the top, the circle lies in the top: nothing to tell.
  expect(results.sheet.find((r) => r.id === 'again')!.values.map((v) => v.name)).toEqual(['x', 'y', 'diameter']);
  expect(value('again', 'x')).toBeCloseTo(40, 3);
  const cut = results.outcomes.find((o) => o.id === 'cut');
  expect(cut?.kind === 'section' && cut.section.polylines.length).toBeGreaterThan(0);
});

test('a stretch that holds nothing names the step', () => {
  const steps = [
    ...base,
    { step: 'section', id: 'cut', axis: 'z', at: -10, in: 'datum' },
    {
      step: 'fit',
      id: 'rim',
      shape: 'circle',
      to: 'cut',
      stretch: { sphere: { center: [40, 30, 50], radius: 3 } },
      in: 'datum',
    },
  ];
  expect(() => runPlan(checkPlan({ version: 1, title: 'Block', steps }), scan, { stopAtFault: true })).toThrow(
    /^rim: The circle holds no point of the section/,
  );
});

test('a bolt circle through points: diameter, spacing, the missing hole with its place in the frame', () => {
  const holes = [0, 1, 2, 4, 5].map((k) => ({
    step: 'construct',
    id: `hole-${k}`,
    point: [50 + 20 * Math.cos((k * Math.PI) / 3), 40 + 20 * Math.sin((k * Math.PI) / 3), 0],
    in: 'datum',
  }));
  const ids = holes.map((h) => h.id);
  const results = run(
    ...holes,
    { step: 'construct', id: 'ring', boltCircle: ids, limits: { diameter: { min: 39.9, max: 40.1 } } },
    { step: 'construct', id: 'mid', center: 'ring' },
  );
  const ring = results.sheet.find((r) => r.id === 'ring')!;
  const value = (name: string) => ring.values.find((v) => v.name === name)!;
  expect(ring.what).toBe('bolt circle through hole-0, hole-1, hole-2, hole-4, hole-5');
  expect(value('diameter')).toMatchObject({ verdict: 'within' });
  expect(value('diameter').value).toBeCloseTo(40, 9);
  expect(value('spacing').value).toBe(60);
  expect(value('off-place').value).toBeCloseTo(0, 9);
  expect(ring.warnings).toEqual([
    {
      code: 'hole-missing',
      message: expect.stringMatching(/^No hole was given at place [46] of the pattern, \(30, 40, -?0\) mm\.$/),
    },
  ]);
  const outcome = results.outcomes.find((o) => o.id === 'ring');
  expect(outcome?.kind === 'construct' && outcome.pattern?.missing).toHaveLength(1);
});

test('a row and a grid give their pitches; too few holes are refused by the check', () => {
  const holes = [0, 1, 2, 3, 4, 5].map((k) => ({
    step: 'construct',
    id: `h${k}`,
    point: [10 + 15 * (k % 3), 10 + 25 * Math.floor(k / 3), 0],
    in: 'datum',
  }));
  const results = run(
    ...holes,
    { step: 'construct', id: 'row', row: ['h0', 'h1', 'h2'] },
    { step: 'construct', id: 'grid', grid: holes.map((h) => h.id), limits: { 'pitch-across': { min: 24, max: 26 } } },
  );
  const value = (id: string, name: string) =>
    results.sheet.find((r) => r.id === id)!.values.find((v) => v.name === name)!.value;
  expect(value('row', 'pitch')).toBeCloseTo(15, 9);
  expect(value('grid', 'pitch')).toBeCloseTo(15, 9);
  expect(value('grid', 'pitch-across')).toBeCloseTo(25, 9);
  expect(value('grid', 'grid-angle')).toBeCloseTo(90, 8);
  expect(() =>
    checkPlan({
      version: 1,
      title: 'x',
      steps: [...base, ...holes, { step: 'construct', id: 'row', row: ['h0', 'h1'] }],
    }),
  ).toThrow('row, row: expected a list of at least 3, found a list of 2');
});
