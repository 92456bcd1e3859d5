import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { readPlan } from '../../packages/io/src/node/plan-file.js';
import { stl } from './bytes.js';
import { platePlan } from './plate.js';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-plan-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it.each([
  ['OBJ', 'pump.obj', 'v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n'],
  ['PLY', 'pump.ply', 'ply\nformat ascii 1.0\n'],
  ['STL', 'pump.stl', stl([[0, 0, 0, 1, 0, 0, 0, 1, 0]])],
  ['list of points', 'pump.txt', '0 0 0\n1 0 0\n'],
])('a scan in the place of the plan, as %s, is told from a plan', async (format, name, content) => {
  const path = join(folder, name);
  writeFileSync(path, content);
  await expect(readPlan(path)).rejects.toMatchObject({
    code: 'plan-is-scan',
    message: `${path}: this is a scan (${format}), where a plan is expected. Name the plan first, then the scans.`,
  });
});

it('what is neither is refused as a plan', async () => {
  const path = join(folder, 'plan.json');
  for (const text of ['', '{', '12', 'Dear customer']) {
    writeFileSync(path, text);
    await expect(readPlan(path)).rejects.not.toMatchObject({ code: 'plan-is-scan' });
  }
});

it.each([
  ['utf16le', '\uFEFF'],
  ['utf16le', ''],
  ['utf8', '\uFEFF'],
] as const)('a plan in %s is read, with %j before it', async (encoding, mark) => {
  const path = join(folder, 'encoded.json');
  const plan = { ...(platePlan() as object), title: 'Flansch ∅ 18' };
  writeFileSync(path, Buffer.from(mark + JSON.stringify(plan), encoding));
  expect((await readPlan(path)).title).toBe('Flansch ∅ 18');
  if (encoding === 'utf8') return;
  // The other order of bytes.
  writeFileSync(path, Buffer.from(mark + JSON.stringify(plan), encoding).swap16());
  expect((await readPlan(path)).title).toBe('Flansch ∅ 18');
});
