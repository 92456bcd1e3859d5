import { readFileSync } from 'node:fs';
import {
  checkPlan,
  createScan,
  frameOf,
  keepReference,
  layOnReference,
  type Plan,
  planJsonSchema,
  type Results,
  runPlan,
  type Scan,
  transformScan,
} from '@fettle/geom';
import { compareScans } from '@fettle/io';
import { describe, expect, test } from 'vitest';
import { scanBracket } from '../../examples/bracket/scan-bracket.js';
import { scanSheet } from '../../examples/bracket/scan-sheet.js';
import { stepForms, withFieldTables } from '../../packages/geom/plan-reference.js';

// True sizes are those the bracket and the sheet are made with: see their files in examples/bracket.

type Step = Readonly<Record<string, unknown>>;
interface Chapter {
  readonly title: string;
  /** What its blocks of JSON hold: a step, a list of steps, or a plan. */
  readonly blocks: readonly unknown[];
}

const root = new URL('../../', import.meta.url);
const read = (path: string): string => readFileSync(new URL(path, root), 'utf8');
const chaptersOf = (markdown: string): Chapter[] =>
  markdown
    .split(/^## /m)
    .slice(1)
    .map((text) => ({
      title: text.slice(0, text.indexOf('\n')),
      blocks: [...text.matchAll(/```json\n([\s\S]*?)```/g)].map(([, json]) => JSON.parse(json!)),
    }));
const stepsOf = (block: unknown): Step[] => (block as { steps?: Step[] }).steps ?? ([block].flat() as Step[]);

const reference = read('packages/geom/PLANS.md');
const chapters = chaptersOf(reference);
const examples = chapters.flatMap(({ blocks }) => blocks.flatMap(stepsOf));
const planOf = (steps: readonly Step[]): Plan => checkPlan({ version: 1, title: 'Bracket', steps });
const bracket = scanBracket();
const wornBracket = scanBracket({ seed: 2, bore: 40.2 });

/** That nothing failed; the message names the steps that did. */
function demandPassed({ failed, passed }: Results): void {
  expect(failed.map(({ message }) => message)).toEqual([]);
  expect(passed).toBe(true);
}

const valueIn = (results: Results, id: string, name: string): number => {
  const value = results.sheet.find((row) => row.id === id)?.values.find((one) => one.name === name);
  if (value === undefined) throw new Error(`the sheet has no ${name} of ${id}`);
  return value.value;
};

describe('PLANS.md', () => {
  test('has the fields the schema has, in its words (else: npm run plan-schema -w packages/geom)', () => {
    expect(withFieldTables(reference, planJsonSchema())).toBe(reference);
  });

  test.each(stepForms(planJsonSchema()).map(({ step, form }) => [step, form]))(
    'tells the fields of %s: %s, and has an example of it',
    (step, form) => {
      expect(reference).toContain(`<!-- fields ${step} ${form} -->`);
      expect(examples.some((one) => one.step === step && one[form] !== undefined)).toBe(true);
    },
  );

  test('shows the message of a plan that is refused', () => {
    const steps = [
      { step: 'region', id: 'top-skin', of: 'all' },
      { step: 'fit', id: 'top', shape: 'plane', to: 'top-skim' },
    ];
    const told = /^ {4}(The plan is not valid.*)$/m.exec(reference)![1]!;
    expect(() => planOf(steps)).toThrow(told);
  });

  test('fits every shape, by every criterion', () => {
    const fits = planJsonSchema() as {
      properties: { steps: { items: { anyOf: { properties: Record<string, { enum?: string[] }> }[] } } };
    };
    const { shape, criterion } = fits.properties.steps.items.anyOf.find(
      ({ properties }) => properties.shape,
    )!.properties;
    const used = (field: string): unknown[] => examples.map((one) => one[field]);
    expect(shape!.enum!.filter((name) => !used('shape').includes(name))).toEqual([]);
    expect(criterion!.enum!.filter((name) => !used('criterion').includes(name))).toEqual([]);
  });

  test.each(
    [...reference.matchAll(/^\| (plane|line|circle|sphere|cylinder|cone|slot|ellipse) \| (`.*`) \|$/gm)].map(
      ([, shape, names]) => [shape!, names!],
    ),
  )('names the values of a %s that can be limited', (shape, names) => {
    const limits = Object.fromEntries([...names.matchAll(/`([^`]+)`/g)].map(([, name]) => [name, { max: 1 }]));
    expect(() => planOf([{ step: 'fit', id: 'one', shape, to: 'all', limits }])).not.toThrow();
    expect(() =>
      planOf([{ step: 'fit', id: 'one', shape, to: 'all', limits: { ...limits, girth: { max: 1 } } }]),
    ).toThrow(`one of ${Object.keys(limits).join(', ')}`);
  });

  describe('run on the bracket', () => {
    const steps = chapters
      .filter(({ title }) => !title.startsWith('Prepare'))
      .flatMap(({ blocks }) => blocks.flatMap(stepsOf));
    const results = runPlan(planOf(steps), bracket);

    test('measures all, within its limits', () => {
      demandPassed(results);
      expect(results.outcomes).toHaveLength(steps.length);
    });

    test.each([
      ['hole', 'diameter', 10, 0.02],
      ['pad', 'offset', 8, 0.03],
      ['bore', 'diameter', 40, 0.01],
      ['shaft', 'diameter', 20, 0.01],
      ['ball', 'z', 20, 0.01],
      ['tip', 'cone-angle', 60, 0.2],
      ['slot', 'length', 30, 0.05],
      ['slot', 'width', 8, 0.03],
      ['leaning', 'tilt', 20, 1],
      ['bolts', 'diameter', 64, 0.03],
      ['pin-row', 'pitch', 15, 0.03],
      ['pins', 'pitch-across', 15, 0.04],
      ['hole-to-bore', 'distance', Math.hypot(60, 30), 0.02],
      ['pad-height', 'distance', 8, 0.01],
      ['front-draft', 'angle', 88, 0.03],
      ['pad-step', 'step-height', 8, 0.01],
      ['slot-outline', 'width-2-4', 8, 0.05],
      ['bolts-by-hand', 'on-scan', 64, 0.03],
    ])('%s: %s is %f to %f', (id, name, truth, within) => {
      expect(Math.abs(valueIn(results, id, name) - truth)).toBeLessThan(within);
    });
  });

  const cloud = createScan({ positions: bracket.positions, name: 'cloud.xyz' });
  const preparing = chapters
    .filter(({ title }) => title.startsWith('Prepare'))
    .flatMap(({ title, blocks }) =>
      blocks.map((block): [string, Step, Scan] => [
        String(stepsOf(block)[0]!.id),
        stepsOf(block)[0]!,
        title.includes('cloud') ? cloud : bracket,
      ]),
    );
  test.each(preparing)('prepares the scan: %s', (id, step, scan) => {
    const results = runPlan(planOf([step]), scan);
    demandPassed(results);
    const [done] = results.outcomes;
    if (done?.kind !== 'prepare') throw new Error(`${id} prepared nothing`);
    const { removedPoints, removedTriangles } = done.prepared;
    // The ball goes, the walls of the six pin holes, and three points of four: see the sizes of both.
    if (id === 'ball-off') expect(removedPoints).toHaveLength(950);
    if (id === 'small-off') expect(removedTriangles.length).toBeGreaterThan(6 * 25 * 2);
    if (id === 'thinner') expect(removedPoints.length / (scan.positions.length / 3)).toBeCloseTo(0.75, 1);
    if (id === 'gauge') expect(done.length!.factor).toBeCloseTo(1, 2);
    if (id === 'rims') expect(done.holes!.length).toBeGreaterThan(10);
  });
});

describe('the cookbook', () => {
  const cookbook = read('examples/COOKBOOK.md');
  const jobs = chaptersOf(cookbook);
  const jobNamed = (title: string): Plan => checkPlan(jobs.find((job) => job.title === title)!.blocks[0]);

  const chapterOf = (title: string): string => cookbook.split(/^## /m).find((text) => text.startsWith(`${title}\n`))!;

  test('has ten jobs, listed at its head', () => {
    const listed = [...cookbook.matchAll(/^\d+\. \[(.*)\]\(#(.*)\)$/gm)].map(([, title, anchor]) => [title, anchor]);
    expect(listed).toEqual(jobs.map(({ title }) => [title, title.toLowerCase().replaceAll(' ', '-')]));
    expect(jobs).toHaveLength(10);
    for (const { blocks } of jobs) expect(blocks).toHaveLength(1);
  });

  test.each<[string, Scan, readonly (readonly [id: string, name: string, truth: number, within: number])[]]>([
    ['Hole to face', bracket, [['hole-to-face', 'distance', -140, 0.02]]],
    [
      'Bearing bore',
      bracket,
      [
        ['bore', 'diameter', 40, 0.01],
        ['bore-square', 'perpendicularity', 0, 0.02],
      ],
    ],
    [
      'Bolt circle',
      bracket,
      [
        ['bolts', 'diameter', 64, 0.03],
        ['bolts', 'spacing', 60, 1e-9],
        ['bolts', 'off-place', 0, 0.04],
      ],
    ],
    [
      'Drafted casting',
      bracket,
      [
        ['front-angle', 'angle', 88, 0.03],
        ['side-angle', 'angle', 89, 0.03],
        ['hole', 'x', 20, 0.02],
      ],
    ],
    ['Sheet metal', scanSheet(), [['bend', 'angle', 90, 0.1]]],
    [
      'Shaft',
      bracket,
      [
        ['shaft', 'diameter', 20, 0.01],
        ['tip', 'cone-angle', 60, 0.2],
        ['tip-coaxial', 'coaxiality', 0, 0.05],
      ],
    ],
    [
      'Slot',
      bracket,
      [
        ['slot', 'length', 30, 0.05],
        ['slot', 'width', 8, 0.03],
        ['slot-from-bore', 'distance', 35, 0.02],
      ],
    ],
    ['Step height', bracket, [['pad-step', 'step-height', 8, 0.01]]],
    [
      'Angle between faces',
      bracket,
      [
        ['front-to-top', 'angle', 88, 0.03],
        ['right-to-top', 'angle', 90, 0.03],
      ],
    ],
    ['A part in two scans', bracket, [['bore', 'diameter', 40, 0.01]]],
  ])('%s', (title, scan, truths) => {
    const results = runPlan(jobNamed(title), scan);
    demandPassed(results);
    const printed = [...chapterOf(title).matchAll(/^ {4}(\S+) +(\S+) +(-?[\d.]+) ± ([\d.]+) (?:mm|°)$/gm)];
    expect(printed.length).toBeGreaterThan(0);
    for (const [, id, name, value, uncertainty] of printed) {
      const row = results.sheet.find((one) => one.id === id)!;
      const found = row.values.find((one) => one.name === name)!;
      expect([id, name, found.value.toFixed(3), found.uncertainty!.toFixed(3)]).toEqual([id, name, value, uncertainty]);
    }
    for (const [id, name, truth, within] of truths)
      expect(Math.abs(valueIn(results, id, name) - truth)).toBeLessThan(within);
  });

  test('the sheet is 2 mm thick, bent about 3 mm', () => {
    const values = runPlan(jobNamed('Sheet metal'), scanSheet()).sheet.find(({ id }) => id === 'across-bend')!.values;
    const told = (what: string) => values.filter(({ name }) => name.startsWith(what)).map(({ value }) => value);
    expect(told('radius').sort()[0]).toBeCloseTo(3, 1);
    expect(told('radius').sort()[1]).toBeCloseTo(5, 1);
    for (const width of told('width')) expect(width).toBeCloseTo(2, 1);
    // Both legs and a quarter ring: 2·(55 + 35) + π/4·(5² − 3²).
    expect(told('area')[0]! / (180 + 4 * Math.PI)).toBeCloseTo(1, 2);
  });

  test('a part in two scans: the bore is worn by 0.2 mm', () => {
    const plan = jobNamed('A part in two scans');
    const [made, worn] = [bracket, wornBracket].map((scan) => runPlan(plan, scan));
    demandPassed(made!);
    demandPassed(worn!);
    const { rows } = compareScans([
      { name: 'new', results: made! },
      { name: 'worn', results: worn! },
    ]);
    const diameter = rows.find(({ id, name }) => id === 'bore' && name === 'diameter')!;
    expect(diameter.range).toBeCloseTo(0.2, 2);
    expect(rows.find(({ id, name }) => id === 'bore' && name === 'x')!.range).toBeLessThan(0.02);
  });

  test('a scan in other axes is laid on the one the plan keeps', () => {
    const plan = checkPlan({ ...jobNamed('A part in two scans'), reference: keepReference(bracket) });
    const elsewhere = transformScan(wornBracket, frameOf([30, -200, 90], [0.6, 0.8, 0], [0, 0, 1]));
    const results = runPlan(plan, layOnReference(plan, elsewhere));
    demandPassed(results);
    expect(results.laid!.inPlace).toBe(false);
    expect(valueIn(results, 'bore', 'diameter')).toBeCloseTo(40.2, 2);
    expect(valueIn(results, 'bore', 'x')).toBeCloseTo(80, 1);
  });
});
