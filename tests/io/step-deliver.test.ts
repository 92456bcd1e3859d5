import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkPlan } from '@fettle/geom';
import { measureFile } from '@fettle/io/node';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { platePlan, platePly } from './plate.js';
import { parseStepFile, type StepFile } from './step-file.js';
import { offences } from './step-schema.js';

const folder = mkdtempSync(join(tmpdir(), 'fettle-step-'));
const scan = join(folder, 'plate.ply');
beforeAll(() => writeFileSync(scan, platePly()));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

type Steps = { steps: object[] };

/** The plate's plan with more steps: some before all others, some behind. */
function planWith(behind: readonly object[], before: readonly object[] = []): Steps {
  const plan = platePlan() as Steps;
  return { ...plan, steps: [...before, ...plan.steps, ...behind] };
}

/** The STEP files a plan delivers, by the ids of their steps, each checked against the schema. */
async function delivered(plan: object, ...names: readonly string[]): Promise<StepFile[]> {
  const out = join(folder, `out-${names[0]}`);
  const measured = await measureFile(plan, scan, { out });
  if (measured.error) throw measured.error;
  return names.map((name) => {
    const read = parseStepFile(readFileSync(measured.files.find((path) => path.endsWith(`${name}.step`))!));
    expect(offences(read)).toEqual([]);
    return read;
  });
}

const namesOf = ({ instances }: StepFile, type: string): string[] =>
  [...instances.values()].flatMap(({ entities: [e] }) => {
    const [name] = e!.attributes;
    return e!.type === type && name!.is === 'string' ? [name!.value] : [];
  });

/** Corners of the face of a name: places of its vertices, mm. */
function corners({ instances }: StepFile, name: string): number[][] {
  const found: number[][] = [];
  const visit = (id: number) => {
    const { type, attributes } = instances.get(id)!.entities[0]!;
    if (type === 'VERTEX_POINT' && attributes[1]!.is === 'reference') {
      const [, place] = instances.get(attributes[1]!.value)!.entities[0]!.attributes;
      if (place!.is === 'list') found.push(place!.value.map((c) => (c.is === 'real' ? c.value : Number.NaN)));
      return;
    }
    for (const a of attributes.flatMap((v) => (v.is === 'list' ? v.value : [v])))
      if (a.is === 'reference') visit(a.value);
  };
  for (const [id, { entities }] of instances) {
    const [{ type, attributes }] = entities as [(typeof entities)[number]];
    if (type === 'ADVANCED_FACE' && attributes[0]!.is === 'string' && attributes[0]!.value === name) visit(id);
  }
  return found;
}

/** How near to the frame's origin and how far from it points reach along an axis; all lie on one side of it. */
function reach(found: readonly number[][], axis: number): [near: number, far: number] {
  const along = found.map((p) => p[axis]!);
  expect(new Set(along.map(Math.sign)).size).toBe(1);
  const far = along.map(Math.abs);
  return [Math.min(...far), Math.max(...far)];
}

/** Two files of one run: all that was found, and two items of it. */
const both = async (): Promise<{ readonly whole: StepFile; readonly alone: StepFile }> => {
  const asked = [
    { step: 'deliver', id: 'plate', cad: { in: 'datum', schema: 'ap242' } },
    { step: 'deliver', id: 'bore-alone', cad: { items: ['bore', 'datum'], parts: 'one' } },
  ];
  const [whole, alone] = await delivered(planWith(asked), 'plate', 'bore-alone');
  return { whole: whole!, alone: alone! };
};
let files: Awaited<ReturnType<typeof both>>;
beforeAll(async () => {
  files = await both();
});

test('a plan delivers what it found as a STEP file named by the step, in its frame', () => {
  const file = files.whole;
  const parts = ['top', 'front', 'side', 'edge', 'corner', 'datum', 'bore', 'bore-center'];
  expect(namesOf(file, 'PRODUCT')).toEqual(['Plate', ...parts]);
  expect(file.header[1]!.attributes[0]).toEqual({ is: 'string', value: 'plate.step' });
  // The plate is 100 × 60 mm, its top region begins 2 mm inside; the frame is on its left front top corner.
  const top = corners(file, 'top');
  expect(reach(top, 0)[0]).toBeCloseTo(2, 0);
  expect(reach(top, 0)[1]).toBeCloseTo(98, 0);
  expect(reach(top, 1)[0]).toBeCloseTo(2, 0);
  expect(reach(top, 1)[1]).toBeCloseTo(58, 0);
  for (const [, , z] of top) expect(Math.abs(z!)).toBeLessThan(1e-9);
});

test('only what is named, in one part', () => {
  const file = files.alone;
  expect(namesOf(file, 'PRODUCT')).toEqual(['Plate']);
  expect(namesOf(file, 'ADVANCED_FACE')).toEqual(['bore']);
  expect(namesOf(file, 'AXIS2_PLACEMENT_3D').filter((name) => name !== '')).toEqual(['datum']);
});

test('faces of a scan that the plan prepared are as large as what was left of it', async () => {
  // The part's x is the scan's z less 7 mm: half of the plate is cropped away, and points are numbered anew.
  const half = { step: 'prepare', id: 'half', crop: { box: { min: [50, -100, 0], max: [200, 0, 57] } } };
  const plan = planWith([{ step: 'deliver', id: 'half-plate', cad: { items: ['top', 'front'] } }], [half]) as Steps;
  // What is cropped away takes the bore along.
  plan.steps = plan.steps.filter(
    (s) => !['bore', 'bore-center', 'from-front', 'bore-points', 'around-bore'].includes((s as { id: string }).id),
  );
  plan.steps = plan.steps.map((s) =>
    (s as { id: string }).id === 'flat' ? { step: 'region', id: 'flat', of: 'top-points' } : s,
  );
  const [file] = (await delivered(plan, 'half-plate')) as [StepFile];
  for (const name of ['top', 'front']) {
    const [low, high] = reach(corners(file, name), 0);
    expect(low).toBeCloseTo(2, 0);
    expect(high).toBeGreaterThan(47);
    expect(high).toBeLessThan(50.5);
  }
});

test('a plan that asks for what is not there is refused before it runs', () => {
  const refused = (cad: object) => () => checkPlan(planWith([{ step: 'deliver', id: 'out', cad }]));
  expect(refused({ items: ['boar'] })).toThrow(/boar/);
  expect(refused({ items: ['top-points'] })).toThrow(/cad\.items/);
  expect(refused({ in: 'top' })).toThrow(/cad\.in: expected a frame/);
  expect(refused({ schema: 'ap203' })).toThrow(/ap214/);
});
