import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  checkPlan,
  FettleError,
  fitPlane,
  growRegion,
  type Plan,
  type RegionStep,
  runPlan,
  type Step,
  type Vec3,
} from '@fettle/geom';
import { bytesOf, writePly } from '@fettle/io';
import { measureFile, readPlan } from '@fettle/io/node';
import { strFromU8, unzipSync } from 'fflate';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createMeasurer } from '../../packages/viewer/src/worker/measurer.js';
import { finderInPlace, type ProfileFinder } from '../../packages/viewer/src/worker/profile-finder.js';
import { part } from '../geom/plan-part.js';

// The worker's answers, asked in this thread; expected values from the part's true places, the library or the command.

const { scan, axes } = part({ noise: 0.01 });
const degrees = Math.PI / 180;
const at = (p: Vec3): Vec3 => axes.toScan(p);
const along = ([x, y, z]: Vec3): Vec3 =>
  [0, 1, 2].map((k) => x * axes.x[k]! + y * axes.y[k]! + z * axes.z[k]!) as unknown as Vec3;
const down = (p: Vec3) => ({ from: at([p[0], p[1], p[2] + 50]), direction: along([0, 0, -2]) });

const ply = bytesOf(writePly(scan));
const measurer = createMeasurer('http://localhost/');
beforeAll(async () => {
  await measurer.open(new Blob([ply]), { name: 'block.ply' }, () => {});
});

const skin = (id: string, center: Vec3, radius: number): RegionStep => ({
  step: 'region',
  id,
  sphere: { center: at(center), radius },
});
const plane = (id: string, to: string): Step => ({ step: 'fit', id, shape: 'plane', to });
const faces: Step[] = [
  skin('top-skin', [70, 40, 0], 12),
  plane('top', 'top-skin'),
  skin('front-skin', [60, -0.5, -10], 9),
  plane('front', 'front-skin'),
  skin('side-skin', [-0.35, 40, -10], 9),
  plane('side', 'side-skin'),
  skin('foot-skin', [80, 50, -25], 10),
  plane('foot', 'foot-skin'),
  skin('bore-skin', [40, 30, -10], 9.5),
  { step: 'fit', id: 'bore', shape: 'cylinder', to: 'bore-skin' },
  { step: 'region', id: 'ball-skin', sphere: { center: at([90, 50, 30]), radius: 12.5 } },
  { step: 'fit', id: 'ball', shape: 'sphere', to: 'ball-skin' },
];
const plan: Plan = checkPlan({ version: 1, title: 'Block, measured', steps: faces });
const thrown = (work: Promise<unknown>) =>
  work.then(
    () => undefined,
    (error: unknown) => error,
  );

test('what is drawn: single precision about the middle, unit normals in bytes', async () => {
  const opened = await createMeasurer('http://localhost/').open(new Blob([ply]), { name: 'block.ply' }, () => {});
  const { surface, bounds } = opened;
  for (const k of [0, 1, 2]) expect(surface.origin[k]).toBeCloseTo((bounds.min[k]! + bounds.max[k]!) / 2, 9);
  let far = 0;
  for (let i = 0; i < surface.positions.length; i++)
    far = Math.max(far, Math.abs(surface.positions[i]! + surface.origin[i % 3]! - scan.positions[i]!));
  expect(far).toBeLessThan(1e-4);
  for (let i = 0; i < surface.normals.length; i += 3)
    expect(
      Math.abs(Math.hypot(surface.normals[i]!, surface.normals[i + 1]!, surface.normals[i + 2]!) - 127),
    ).toBeLessThan(1.5);
  expect(surface.triangles).toEqual(scan.triangles);
  expect(opened.reduced).toBeUndefined();
  // Of the same bytes by another implementation.
  const { createHash } = await import('node:crypto');
  expect(opened.sha256).toBe(createHash('sha256').update(ply).digest('hex'));
});

test('a ray meets the skin it comes to first, and what is told of it faces the eye', async () => {
  const hit = await measurer.pick(down([70, 40, 0]));
  const [x, y, z] = axes.toFrame(hit!.position);
  expect([x, y, z].map((c) => Number(c.toFixed(1)))).toEqual([70, 40, expect.closeTo(0, 1)]);
  expect(hit!.normal.reduce((sum, c, k) => sum + c * axes.z[k]!, 0)).toBeGreaterThan(0.9);
  const below = await measurer.pick({ from: at([70, 20, -20]), direction: along([0, 0, 1]) });
  expect(below!.normal.reduce((sum, c, k) => sum + c * axes.z[k]!, 0)).toBeLessThan(-0.9);
  expect(await measurer.pick({ from: at([70, 40, 50]), direction: along([0, 0, 1]) })).toBeUndefined();
});

test('a glimpse is what growing there chooses; one superseded is moot', async () => {
  const limits = { turn: 3, spread: 10 };
  const glimpse = await measurer.glimpse(down([70, 40, 0]), limits);
  const whole = growRegion(scan, { seed: glimpse!.position, turnStep: 3 * degrees, turnTotal: 10 * degrees });
  expect(glimpse!.points).toEqual(whole);
  expect(glimpse!.isPart).toBeUndefined();
  const short = await measurer.glimpse(down([70, 40, 0]), limits, 0);
  expect(short!.isPart).toBe(true);
  expect(short!.points.length).toBeGreaterThan(0);
  expect(short!.points.length).toBeLessThan(whole.length);
  const [first, second] = await Promise.all([
    measurer.glimpse(down([70, 40, 0]), limits),
    measurer.glimpse(down([75, 40, 0]), limits),
  ]);
  expect([first!.moot, second!.moot]).toEqual([true, undefined]);
});

test('a choice: its points, area and spread; of several asked at once the last is answered', async () => {
  const choice = await measurer.choose([skin('a', [70, 40, 0], 12)]);
  // Counted on the grid: points 2 mm apart, two triangles of 2 mm² a square. Noise takes points at just 12 mm out.
  const isIn = (x: number, y: number) => (x - 70) ** 2 + (y - 40) ** 2 < 144;
  let area = 0;
  for (let x = 50; x < 90; x += 2)
    for (let y = 20; y < 60; y += 2)
      if (isIn(x, y) && isIn(x + 2, y + 2)) area += 2 * (Number(isIn(x + 2, y)) + Number(isIn(x, y + 2)));
  expect(choice.area).toBeGreaterThan(area);
  expect(choice.area).toBeLessThan(1.001 * area);
  expect(choice.spread).toBeLessThan(4 * degrees);
  const both = await measurer.choose([
    skin('a', [70, 40, 0], 12),
    skin('b', [60, -0.5, -10], 9),
    { step: 'region', id: 'c', join: ['a', 'b'] },
  ]);
  // The two faces stand at 87° to each other: from their mean by size the smaller is more than half of that off.
  expect(both.spread).toBeGreaterThan(43 * degrees);
  const all = await Promise.all([11, 12, 13].map((radius) => measurer.choose([skin('a', [70, 40, 0], radius)])));
  expect(all.map(({ moot }) => moot)).toEqual([true, true, undefined]);
  expect(await thrown(measurer.choose([skin('a', [0, 0, 900], 1)]))).toMatchObject({ code: 'region-empty' });
});

test('what was chosen is a cylinder', async () => {
  const { suggestion } = await measurer.suggest([skin('a', [40, 30, -10], 9.5)]);
  expect(suggestion.kind).toBe('cylinder');
});

test('the points of a fit with their residuals', async () => {
  await measurer.run(plan);
  const view = await measurer.points('top');
  const { points } = await measurer.points('top-skin');
  const fit = fitPlane({ ...scan, select: points });
  expect(view.points).toEqual(fit.used);
  expect(view.residuals).toEqual(Float32Array.from(fit.residuals));
});

test('points of a scan that was prepared are told by the numbers of the scan that is drawn', async () => {
  const crop: Step = {
    step: 'prepare',
    id: 'cut',
    crop: { halfSpace: { point: at([60, 0, 0]), normal: [...axes.x] as unknown as Vec3 } },
  };
  const steps = [crop, skin('top-skin', [70, 40, 0], 8), plane('top', 'top-skin')];
  await measurer.run({ ...plan, steps });
  const cropped = await measurer.points('top');
  await measurer.run({ ...plan, steps: steps.slice(1) });
  expect(cropped).toEqual(await measurer.points('top'));
});

test('a step tried leaves the plan as it was', async () => {
  const before = await measurer.run(plan);
  const frame: Step = { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'] };
  const view = await measurer.tryStep(plan, [frame], 'frame');
  expect(view.matrix!.slice(12, 15).every((c, k) => Math.abs(c - axes.origin[k]!) < 0.05)).toBe(true);
  expect(await measurer.run(plan)).toEqual(before);
  const bad = await measurer.tryStep(plan, [skin('far', [0, 0, 900], 1), plane('face', 'far')], 'draft');
  expect(bad.refusal).toMatchObject({ code: 'step-waits', step: 'far' });
  const moot = await Promise.all([measurer.tryStep(plan, [frame], 'frame'), measurer.tryStep(plan, [frame], 'frame')]);
  expect(moot.map((one) => one.moot)).toEqual([true, undefined]);
});

describe('a profile that has a row', () => {
  const cut = { step: 'section', id: 'cut', plane: 'top', offset: -10 } as const;
  const withRow: Plan = checkPlan({
    ...plan,
    steps: [...faces, { ...cut, profile: { near: at([48, 30, -10]), tolerance: 0.05 } }],
  });

  /** A measurer whose profiles are found when they are let. */
  async function held() {
    let [asked, go] = [0, () => {}];
    const waits = new Promise<void>((resolve) => {
      go = resolve;
    });
    const inPlace = finderInPlace();
    const finder: ProfileFinder = {
      ...inPlace,
      async find(...given) {
        asked++;
        await waits;
        return structuredClone(await inPlace.find(...structuredClone(given)));
      },
    };
    const one = createMeasurer('http://localhost/', finderInPlace(), finder);
    await one.open(new Blob([ply]), { name: 'block.ply' }, () => {});
    return { one, go, asked: () => asked };
  }

  test('is found beside: what follows a pointer is answered meanwhile, and the results are those of the library', async () => {
    const { one, go, asked } = await held();
    await one.run(plan);
    let isDone = false;
    const run = one.run(withRow).finally(() => {
      isDone = true;
    });
    await expect.poll(asked).toBe(1);
    expect(await one.pick(down([70, 40, 0]))).toBeDefined();
    expect((await one.tryStep(plan, [cut], 'cut')).section).toBeDefined();
    expect((await one.points('top')).points.length).toBeGreaterThan(0);
    expect(isDone).toBe(false);
    go();
    const row = (await run).steps.find(({ id }) => id === 'cut')!.row!;
    const told = runPlan(withRow, scan).sheet.find(({ id }) => id === 'cut')!;
    expect(row.values.length).toBeGreaterThan(0);
    expect(row.values.map(({ value }) => value)).toEqual(told.values.map(({ value }) => value));
    // Run again it is known, also after the step was taken out.
    await one.run(plan);
    await one.run(withRow);
    expect(asked()).toBe(1);
  });

  test('is not looked for again once it was drawn', async () => {
    const { one, asked } = await held();
    await one.run({ ...plan, steps: [...faces, cut] });
    expect((await one.profile({ ...plan, steps: [...faces, cut] }, 'cut', 0.05)).pieces).toHaveLength(3);
    const { steps } = await one.run(withRow);
    expect(steps.find(({ id }) => id === 'cut')!.row!.values.length).toBeGreaterThan(0);
    expect(asked()).toBe(0);
  });

  test('is found in place where what finds it beside is broken', async () => {
    const broken: ProfileFinder = {
      find: () => Promise.reject(new FettleError('unexpected', 'broken')),
      stop() {},
    };
    const one = createMeasurer('http://localhost/', finderInPlace(), broken);
    await one.open(new Blob([ply]), { name: 'block.ply' }, () => {});
    const { steps } = await one.run(withRow);
    expect(steps.find(({ id }) => id === 'cut')!.row!.values.length).toBeGreaterThan(0);
  });

  test('that cannot be found is refused as in a plan', async () => {
    const { one, go } = await held();
    go();
    const place = at([48, 30, -10]);
    const nowhere = { ...cut, profile: { pieces: [{ from: place, to: place, as: 'arc' }] } } as const;
    const bad = checkPlan({ ...plan, steps: [...faces, nowhere] });
    const { steps } = await one.run(bad);
    const error = (await thrown((async () => runPlan(bad, scan, { stopAtFault: true }))())) as FettleError | undefined;
    expect(error).toBeDefined();
    expect(steps.find(({ id }) => id === 'cut')!.refusal?.code).toBe(error!.code);
  });
});

describe('relations', () => {
  const found = async (...ids: string[]) =>
    (await measurer.relations(plan, ids)).map(({ words, view }) => {
      const value = view.row!.values.find(({ name }) => !/^(x|y|z|angle-[xyz]|offset)$/.test(name));
      return value ? `${words}: ${value.value.toFixed(1)} ${value.unit}` : words;
    });

  test('two faces that meet', async () => {
    const words = await found('top', 'front');
    expect(words[0]).toBe('line where top and front meet');
    // The front leans 3° from square.
    expect(words).toContain('angle between top and front: 87.0 °');
    expect(words.join()).not.toMatch(/distance|midway|parallelism/);
  });

  test('two faces at different heights', async () => {
    const words = await found('top', 'foot');
    expect(words).toContain('distance from top to foot: -25.0 mm');
    expect(words).toContain('step from top to foot: -25.0 mm');
    expect(words).toContain('plane midway between top and foot');
    expect(words.join()).not.toMatch(/line where|perpendicularity/);
  });

  test('a bore and the face it stands on', async () => {
    const words = await found('bore', 'top');
    expect(words[0]).toBe('point where bore and top meet');
    expect(words.join()).toMatch(/perpendicularity of bore to top/);
    expect(words.join()).not.toMatch(/parallelism|coaxiality/);
  });

  test('a bore and a ball', async () => {
    // The ball's center is 50 mm along x and 20 mm along y from the bore's axis.
    expect(await found('bore', 'ball')).toContain(`distance from bore to ball: ${Math.hypot(50, 20).toFixed(1)} mm`);
  });

  test('three faces', async () => {
    const relations = await measurer.relations(plan, ['top', 'front', 'side']);
    expect(relations[0]!.words).toBe('point where top, front and side meet');
    expect(
      (await measurer.run({ ...plan, steps: [...plan.steps, relations[0]!.step] })).steps.at(-1)!.refusal,
    ).toBeUndefined();
  });
});

describe('handed over', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'fettle-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  const whole: Plan = {
    ...plan,
    steps: [
      ...plan.steps,
      { step: 'frame', id: 'datum', planes: ['top', 'front', 'side'] },
      { step: 'section', id: 'across', axis: 'z', at: -5, in: 'datum' },
    ],
  };

  test('all in one: the plan, and what the command makes of it, byte for byte', async () => {
    const told: string[] = [];
    const [zip] = await measurer.deliver(whole, 'all', (file) => told.push(file));
    expect([zip!.name, zip!.type]).toEqual(['Block-measured.zip', 'application/zip']);
    const files = unzipSync(zip!.bytes);
    const names = [
      'plan.json',
      'results.json',
      'job-sheet.csv',
      'cad.step',
      'across-drawing.svg',
      'report.html',
      'scan-in-datum.ply',
    ];
    expect(Object.keys(files)).toEqual(names);
    // Made in another order: what tells of failures comes last.
    expect(told.toSorted()).toEqual(names.toSorted());
    expect(told.slice(-4)).toEqual(['report.html', 'results.json', 'job-sheet.csv', 'plan.json']);

    await writeFile(join(folder, 'plan.json'), files['plan.json']!);
    await writeFile(join(folder, 'block.ply'), ply);
    const out = join(folder, 'out');
    const { error } = await measureFile(await readPlan(join(folder, 'plan.json')), join(folder, 'block.ply'), { out });
    expect(error).toBeUndefined();
    for (const name of names.filter((n) => !/plan.json|report.html|step$/.test(n)))
      expect(Buffer.compare(await readFile(join(out, name)), files[name]!), name).toBe(0);
    // When it was made stands in the header.
    const data = (text: string) => text.slice(text.indexOf('DATA;'));
    expect(data(strFromU8(files['cad.step']!))).toBe(data(await readFile(join(out, 'cad.step'), 'utf8')));
  }, 180_000);

  test('one file, whether or not the plan asks for it', async () => {
    const names = async (what: Parameters<typeof measurer.deliver>[1], of = whole) =>
      (await measurer.deliver(of, what, () => {})).map(({ name }) => name);
    expect(await names('plan')).toEqual(['plan.json']);
    expect(await names('job-sheet')).toEqual(['job-sheet.csv']);
    expect(await names({ drawing: 'across' })).toEqual(['across-drawing.svg']);
    expect(await names('scan')).toEqual(['scan-in-datum.ply']);
    const own = {
      ...whole,
      steps: [...whole.steps, { step: 'deliver', id: 'for-cad', cad: { schema: 'ap242' } } as Step],
    };
    expect(await names('cad', own)).toEqual(['for-cad.step']);
  });

  test('the scan comes in the datum frame', async () => {
    const [file] = await measurer.deliver(whole, 'scan', () => {});
    const reopened = createMeasurer('http://localhost/');
    await reopened.open(new Blob([file!.bytes as Uint8Array<ArrayBuffer>]), { name: 'set.ply' }, () => {});
    const matrix = (await measurer.run(whole)).steps.find(({ id }) => id === 'datum')!.matrix!;
    const [x, y] = [0, 4].map((from) =>
      at([70, 40, 0]).reduce((sum, c, k) => sum + (c - matrix[12 + k]!) * matrix[from + k]!, 0),
    );
    const hit = await reopened.pick({ from: [x!, y!, 50], direction: [0, 0, -1] });
    expect(hit!.position[2]).toBeCloseTo(0, 1);
    expect(hit!.normal[2]).toBeGreaterThan(0.99);
  });

  test('what does not rest on a step that fails, which the results and the sheet tell of; nothing where all do', async () => {
    const far = [skin('far', [0, 0, 900], 1), plane('face', 'far')];
    const steps = [...plan.steps, ...far, { step: 'deliver', id: 'for-cad', cad: { items: ['face'] } } as Step];
    const [file] = await measurer.deliver({ ...plan, steps }, 'results', () => {});
    const { failed, passed } = JSON.parse(strFromU8(file!.bytes));
    expect(failed.map(({ id, code }: { id: string; code: string }) => [id, code])).toEqual([
      ['far', 'region-empty'],
      ['face', 'step-waits'],
      ['for-cad', 'step-waits'],
    ]);
    expect(passed).toBe(false);
    const [sheet] = await measurer.deliver({ ...plan, steps }, 'job-sheet', () => {});
    expect(strFromU8(sheet!.bytes)).toMatch(/\r\n,far,region,.*,failed,.*far: /);
    expect(await thrown(measurer.deliver({ ...plan, steps }, 'cad', () => {}))).toMatchObject({ code: 'step-waits' });
    const [whole] = await measurer.deliver({ ...plan, steps }, 'all', () => {});
    expect(Object.keys(unzipSync(whole!.bytes))).toEqual(['plan.json', 'results.json', 'job-sheet.csv']);
    const nothing = await thrown(measurer.deliver({ ...plan, steps: far }, 'results', () => {}));
    expect(nothing).toMatchObject({ code: 'region-empty', message: expect.stringMatching(/^far: /) });
  });
});

test('without a scan every question is refused in words', async () => {
  const bare = createMeasurer('http://localhost/');
  expect(await thrown(bare.run(plan))).toMatchObject({ code: 'no-scan' });
  expect(await thrown(bare.openPump(() => {}))).toMatchObject({ code: 'demo-missing' });
});
