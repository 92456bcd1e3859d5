import { checkPlan, FettleError, type Results, type RunOptions, resultsToJson, runPlan, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { part } from './plan-part.js';

// The part's true places are given in its own axes; see plan-part.ts.

const { scan, axes } = part();
const inScan = (p: Vec3) => [...axes.toScan(p)];
const boxAbout = (center: Vec3, half: number) => {
  const c = axes.toScan(center);
  return { min: c.map((x) => x - half), max: c.map((x) => x + half) };
};

const datums = [
  { step: 'region', id: 'top-skin', off: { feature: 'rough', min: -0.5, max: 0.5 } },
  { step: 'fit', id: 'top', shape: 'plane', to: 'top-skin' },
  { step: 'region', id: 'front-skin', sphere: { center: inScan([60, -0.5, -10]), radius: 9 } },
  { step: 'fit', id: 'front', shape: 'plane', to: 'front-skin' },
  { step: 'region', id: 'side-skin', sphere: { center: inScan([-0.35, 40, -10]), radius: 9 } },
  { step: 'fit', id: 'side', shape: 'plane', to: 'side-skin' },
  { step: 'construct', id: 'edge', intersect: ['top', 'front'] },
  { step: 'construct', id: 'corner', intersect: ['top', 'front', 'side'] },
  { step: 'frame', id: 'datum', plane: 'top', line: 'edge', origin: 'corner', plus: { plane: 'z', line: 'x' } },
];
const start = [
  { step: 'region', id: 'patch', sphere: { center: inScan([70, 40, 0]), radius: 12 } },
  { step: 'fit', id: 'rough', shape: 'plane', to: 'patch', known: { direction: [...axes.z] } },
];
const run = (steps: unknown[], options?: RunOptions, on = scan): Results =>
  runPlan(checkPlan({ version: 1, title: 'Block', steps }), on, options);
const row = (results: Results, id: string) => {
  const found = results.sheet.find((r) => r.id === id);
  if (found === undefined) throw new Error(`no row ${id}`);
  return found;
};
const value = (results: Results, id: string, name: string) => {
  const found = row(results, id).values.find((v) => v.name === name);
  if (found === undefined) throw new Error(`no value ${name} in ${id}`);
  return found.value;
};
const failure = (steps: unknown[], options?: RunOptions): FettleError => {
  try {
    run(steps, { stopAtFault: true, ...options });
  } catch (error) {
    if (error instanceof FettleError) return error;
    throw error;
  }
  throw new Error('nothing failed');
};

test('from regions to a datum frame and back to where the part was put', () => {
  const results = run([...start, ...datums]);
  const frame = results.frame!;
  // x runs along the front normal crossed into the top's: the sign of the cross product top × front.
  const sign = Math.sign(frame.x[0] * axes.x[0] + frame.x[1] * axes.x[1] + frame.x[2] * axes.x[2]);
  for (const i of [0, 1, 2]) {
    expect(frame.origin[i]).toBeCloseTo(axes.origin[i], 8);
    expect(sign * frame.x[i]).toBeCloseTo(axes.x[i], 10);
    expect(frame.z[i]).toBeCloseTo(axes.z[i], 10);
  }
  expect(results.frameId).toBe('datum');
  expect(results.passed).toBe(true);
});

const whole = run([
  ...start,
  ...datums.slice(0, -1),
  { ...datums.at(-1), plus: { plane: 'z', line: 'x' } },
  {
    step: 'region',
    id: 'hole-wall',
    box: { min: [30, 20, -19], max: [50, 40, -1] },
    in: 'datum',
    without: ['top-skin'],
  },
  {
    step: 'fit',
    id: 'hole',
    shape: 'cylinder',
    to: 'hole-wall',
    limits: { diameter: { min: 15.9, max: 16.1 }, x: { max: 39 } },
  },
  { step: 'construct', id: 'mouth', intersect: ['hole', 'top'] },
  { step: 'region', id: 'ball-skin', sphere: { center: [90, 50, 30], radius: 13 }, in: 'datum' },
  { step: 'fit', id: 'ball', shape: 'sphere', to: 'ball-skin', note: 'Knob of the lever.' },
  { step: 'region', id: 'foot-skin', box: { min: [58, 28, -26], max: [102, 72, -24] }, in: 'datum' },
  { step: 'fit', id: 'foot', shape: 'plane', to: 'foot-skin', criterion: 'minimum-zone' },
  { step: 'measure', id: 'height', distance: ['top', 'foot'], limits: { min: -25.1, max: -24.9 } },
  { step: 'measure', id: 'front-draft', angle: ['top', 'front'] },
  { step: 'measure', id: 'reach', distance: ['mouth', 'ball'], along: 'y', in: 'datum' },
  { step: 'measure', id: 'diagonal', distance: ['mouth', 'ball'] },
  { step: 'deliver', id: 'out', scan: { format: 'ply', in: 'datum' } },
]);

test('the job sheet gives each feature in the datum frame, diameters as the trade reads them', () => {
  expect(value(whole, 'hole', 'diameter')).toBeCloseTo(16, 9);
  expect(value(whole, 'hole', 'x')).toBeCloseTo(40, 8);
  expect(value(whole, 'hole', 'y')).toBeCloseTo(30, 8);
  expect(value(whole, 'hole', 'angle-z')).toBeCloseTo(0, 6);
  expect(value(whole, 'mouth', 'z')).toBeCloseTo(0, 9);
  expect(value(whole, 'ball', 'x')).toBeCloseTo(90, 8);
  expect(value(whole, 'ball', 'z')).toBeCloseTo(30, 8);
  expect(value(whole, 'ball', 'diameter')).toBeCloseTo(24, 8);
  // A front leaning back 3°: its normal is 3° off the y axis and 87° off z.
  expect(value(whole, 'front', 'angle-y')).toBeCloseTo(3, 8);
  expect(value(whole, 'front', 'angle-z')).toBeCloseTo(87, 8);
  expect(value(whole, 'side', 'angle-x')).toBeCloseTo(2, 8);
  // A face by how far it is from the origin along its normal: the foot, 25 mm under the top.
  expect(value(whole, 'foot', 'offset')).toBeCloseTo(-25, 8);
});

test('what is so by definition is left out: a datum in its own frame, an axis along itself, where a point on it is', () => {
  const names = (id: string) => row(whole, id).values.map((v) => v.name);
  // The front passes through the origin; square to x, as the edge is where it meets the top.
  expect(names('top')).toEqual([]);
  expect(names('front')).toEqual(['angle-y', 'angle-z']);
  expect(names('edge')).toEqual([]);
  expect(names('corner')).toEqual([]);
  expect(names('datum')).toEqual([]);
  expect(names('hole')).toEqual(['x', 'y', 'diameter', 'angle-x', 'angle-y', 'angle-z']);
  expect(row(whole, 'hole').where).toBe('x and y where its axis crosses z = 0');
  // A hole that happens to stand where it should is not left out: another scan would move it.
  expect(value(whole, 'hole', 'angle-z')).toBeCloseTo(0, 6);
  expect(names('foot')).toEqual(['offset', 'angle-x', 'angle-y', 'angle-z', 'flatness']);
});

test('measures: step height, draft, a part along an axis, straight distance', () => {
  expect(value(whole, 'height', 'distance')).toBeCloseTo(-25, 8);
  expect(value(whole, 'front-draft', 'angle')).toBeCloseTo(87, 8);
  expect(value(whole, 'reach', 'distance')).toBeCloseTo(20, 8);
  expect(value(whole, 'diagonal', 'distance')).toBeCloseTo(Math.hypot(50, 20, 30), 8);
});

test('rows are numbered in plan order and say in words what they are; regions and sections have none', () => {
  expect(whole.sheet.map((r) => `${r.balloon} ${r.id}: ${r.what}`)).toEqual([
    '1 rough: plane to patch, least squares, direction given',
    '2 top: plane to top-skin, least squares',
    '3 front: plane to front-skin, least squares',
    '4 side: plane to side-skin, least squares',
    '5 edge: line where top and front meet',
    '6 corner: point where top, front and side meet',
    '7 datum: datum frame: z square to top, x along edge, origin at corner',
    '8 hole: cylinder to hole-wall, least squares',
    '9 mouth: point where hole and top meet',
    '10 ball: sphere to ball-skin, least squares',
    '11 foot: plane to foot-skin, minimum zone',
    '12 height: distance from top to foot',
    '13 front-draft: angle between top and front',
    '14 reach: distance from mouth to ball along y of datum',
    '15 diagonal: distance from mouth to ball',
  ]);
  expect(new Set(whole.sheet.map((r) => r.frame))).toEqual(new Set(['datum']));
  expect(row(whole, 'ball').note).toBe('Knob of the lever.');
});

test('a limit that fails is told at its value and fails the plan', () => {
  const { values } = row(whole, 'hole');
  expect(values.find((v) => v.name === 'diameter')).toMatchObject({
    verdict: 'within',
    limits: { min: 15.9, max: 16.1 },
  });
  expect(values.find((v) => v.name === 'x')).toMatchObject({ verdict: 'outside', limits: { max: 39 } });
  expect(values.find((v) => v.name === 'y')).not.toHaveProperty('verdict');
  expect(row(whole, 'height').values[0].verdict).toBe('within');
  expect(whole.passed).toBe(false);
});

test('a minimum-zone fit has its form by the name the standard gives it', () => {
  expect(value(whole, 'foot', 'flatness')).toBeCloseTo(0, 9);
  expect(row(whole, 'ball').form).toBeCloseTo(0, 9);
  expect(row(whole, 'ball').used).toBeGreaterThan(200);
});

test('without a frame coordinates are in scan axes', () => {
  const results = run([...start]);
  expect(row(results, 'rough').frame).toBe('scan');
  expect(results).not.toHaveProperty('frame');
});

test('after a second frame rows are in it, before it in the first', () => {
  const results = run([
    ...start,
    ...datums,
    { step: 'construct', id: 'here', point: [1, 2, 3], in: 'datum' },
    { step: 'frame', id: 'turned', plane: 'top', line: 'edge', origin: 'here', plus: { plane: '-z', line: 'x' } },
    { step: 'construct', id: 'there', point: [1, 2, 3], in: 'datum' },
  ]);
  expect(['here', 'turned', 'there'].map((id) => row(results, id).frame)).toEqual(['datum', 'turned', 'turned']);
  expect(row(results, 'here').values.map((v) => Number(v.value.toFixed(9)))).toEqual([1, 2, 3]);
  expect(row(results, 'there').values.map((v) => Number(v.value.toFixed(9)) + 0)).toEqual([0, 0, -3]);
  expect(results.frameId).toBe('turned');
});

test('an error while running names the step and keeps its code', () => {
  const parallel = failure([...start, ...datums, { step: 'construct', id: 'nowhere', intersect: ['rough', 'top'] }]);
  expect(parallel.code).toBe('parallel');
  expect(parallel.message).toMatch(/^nowhere: The two planes are parallel to within [\d.e-]+°: they meet in no line\./);

  const empty = failure([{ step: 'region', id: 'air', box: { min: [0, 0, 0], max: [1, 1, 1] } }]);
  expect(empty.code).toBe('region-empty');
  expect(empty.message).toMatch(/^air: block\.ply: the box holds no point\. The nearest is [\d,.]+ mm outside/);

  const missing = failure([...start, ...datums, { step: 'section', id: 'over', axis: 'z', at: 200, in: 'datum' }]);
  expect(missing.code).toBe('section-misses');
  expect(missing.message).toMatch(/^over: block\.ply: the section plane misses by 161.1 mm/);

  const few = failure([
    { step: 'region', id: 'two', indices: [0, 1] },
    { step: 'fit', id: 'face', shape: 'plane', to: 'two' },
  ]);
  expect(few.code).toBe('too-few-points');
  expect(few.message).toMatch(/^face: /);

  const outside = failure([{ step: 'region', id: 'far', indices: [99_999_999] }]);
  expect(outside.message).toMatch(/^far: block\.ply: there is no point 99,999,999\./);
});

test('a region left with nothing says so', () => {
  const error = failure([...start, { step: 'region', id: 'none', of: 'patch', without: ['patch'] }]);
  expect(error.code).toBe('region-empty');
  expect(error.message).toMatch(
    /^none: block\.ply: the region holds no point: all of \d+ chosen are left out again\.$/,
  );
});

test('two axes that pass each other meet nowhere: skew', () => {
  const line = (id: string, from: Vec3, to: Vec3) => [
    { step: 'construct', id: `${id}-a`, point: from },
    { step: 'construct', id: `${id}-b`, point: to },
    { step: 'construct', id, through: [`${id}-a`, `${id}-b`] },
  ];
  const lines = [...line('p', [0, 0, 0], [9, 0, 0]), ...line('q', [0, -5, 2], [0, 5, 2])];
  const error = failure([...lines, { step: 'construct', id: 'cross', intersect: ['p', 'q'] }]);
  expect(error.code).toBe('skew');
  expect(error.message).toBe(
    'cross: The two lines pass each other 2 mm apart, more than the 1 mm allowed: they meet in no point.',
  );
  const met = run([...lines, { step: 'construct', id: 'cross', intersect: ['p', 'q'], within: 2.5 }]);
  expect(value(met, 'cross', 'z')).toBeCloseTo(1, 12);
});

test('progress is told before each step, and a stopped plan says where', () => {
  const told: string[] = [];
  const signal = { aborted: false };
  const error = failure(start, {
    onStep: ({ id, index, count }) => {
      told.push(`${id} ${index + 1}/${count}`);
      signal.aborted = true;
    },
    signal,
  });
  expect(told).toEqual(['patch 1/2']);
  expect(error.code).toBe('aborted');
  expect(error.message).toBe('block.ply: stopped before step rough.');
});

test('regions: points off a feature, joined, taken from one another', () => {
  const results = run([
    ...start,
    { step: 'region', id: 'near', off: { feature: 'rough', min: -0.1, max: 0.1 } },
    { step: 'region', id: 'above', off: { feature: 'rough', min: 20 } },
    { step: 'region', id: 'both', join: ['near', 'above'] },
    { step: 'region', id: 'again', of: 'both', without: ['above'] },
    { step: 'region', id: 'boxed', box: boxAbout([60, 40, 0], 15), of: 'near' },
  ]);
  const select = (id: string) => {
    const outcome = results.outcomes.find((o) => o.id === id);
    return outcome?.kind === 'region' ? [...outcome.select] : [];
  };
  expect(select('both')).toHaveLength(select('near').length + select('above').length);
  expect(select('again')).toEqual(select('near'));
  expect(select('boxed').every((p) => select('near').includes(p))).toBe(true);
  for (const p of select('above')) {
    const [, , z] = axes.toFrame([scan.positions[3 * p], scan.positions[3 * p + 1], scan.positions[3 * p + 2]]);
    expect(z).toBeGreaterThanOrEqual(20 - 1e-9);
  }
});

test('a datum frame from three planes reports their angles, and judges them by limits', () => {
  const results = run([
    ...start,
    ...datums.slice(0, -1),
    {
      step: 'frame',
      id: 'cast',
      planes: ['top', 'front', 'side'],
      plus: { plane: 'z', line: '-x' },
      limits: { 'primary-secondary': { min: 86.9, max: 87.1 } },
    },
  ]);
  expect(value(results, 'cast', 'primary-secondary')).toBeCloseTo(87, 8);
  expect(value(results, 'cast', 'primary-tertiary')).toBeCloseTo(88, 8);
  expect(row(results, 'cast').values[0].verdict).toBe('within');
  // The side faces -x: the line points there, and minus x was asked for.
  for (const i of [0, 1, 2]) expect(results.frame!.x[i]).toBeCloseTo(axes.x[i], 9);
});

test('results as JSON hold the plan, the frame, features and sheet, and nothing per point', () => {
  const json = JSON.parse(JSON.stringify(resultsToJson(whole)));
  expect(Object.keys(json)).toEqual([
    'format',
    'formatVersion',
    'fettle',
    'title',
    'scan',
    'passed',
    'noise',
    'frame',
    'frames',
    'sheet',
    'features',
    'warnings',
    'delivered',
    'plan',
  ]);
  expect(json.format).toBe('fettle-results');
  expect(json.formatVersion).toBe(1);
  expect(json.delivered).toEqual([{ id: 'out', format: 'ply', units: 'mm', frame: 'datum' }]);
  expect(json.scan).toEqual({
    name: 'block.ply',
    points: scan.positions.length / 3,
    triangles: scan.triangles!.length / 3,
  });
  expect(json.frame.id).toBe('datum');
  expect(json.frame.matrix).toHaveLength(16);
  expect(json.frame.uncertainty.covariance).toHaveLength(36);
  expect(json.sheet[0].uncertainty).toMatch(/^along its normal ± /);
  expect(json.plan).toEqual(whole.plan);
  expect(json.sheet.map((r: { id: string }) => r.id)).toEqual(whole.sheet.map((r) => r.id));
  const hole = json.features.find((f: { id: string }) => f.id === 'hole');
  expect(hole.feature.kind).toBe('cylinder');
  expect(hole.uncertainty.covariance).toHaveLength(25);
  const long = JSON.stringify(json, (_key, v) => (Array.isArray(v) && v.length > 100 ? 'long' : v));
  expect(long).not.toContain('"long"');
});

test('the same plan on the same scan gives the same results', () => {
  const steps = [...start, ...datums];
  expect(resultsToJson(run(steps))).toEqual(resultsToJson(run(steps)));
});
