import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { scanPaths } from '../../packages/io/src/node/commands/scan-paths.js';

let folder: string;
const here = process.cwd();
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-paths-'));
  mkdirSync(join(folder, 'monday'));
  for (const name of ['b.ply', 'a.ply', 'c.obj', '.hidden.ply', 'x[1].ply', 'x1.ply'])
    writeFileSync(join(folder, 'monday', name), '');
  process.chdir(folder);
});
afterAll(() => {
  process.chdir(here);
  rmSync(folder, { recursive: true, force: true });
});

test.each([
  [['monday/*.ply'], ['monday/a.ply', 'monday/b.ply', 'monday/x1.ply', 'monday/x[1].ply']],
  [['monday/?.{ply,obj}'], ['monday/a.ply', 'monday/b.ply', 'monday/c.obj']],
  [
    ['c.ply', 'monday/[ab].ply', '-'],
    ['c.ply', 'monday/a.ply', 'monday/b.ply', '-'],
  ],
  // A file of that very name is meant, not what fits it.
  [['monday/x[1].ply'], ['monday/x[1].ply']],
])('%j', async (given, paths) => {
  expect(await scanPaths(given)).toEqual(paths);
});

test('a pattern with a whole path, and one that leaves the folder', async () => {
  expect(await scanPaths([join(folder, 'monday/*.obj')])).toEqual([join(folder, 'monday/c.obj')]);
  process.chdir(join(folder, 'monday'));
  expect(await scanPaths(['../monday/*.obj'])).toEqual(['c.obj']);
  process.chdir(folder);
});

test('what fits nothing is told, and standard input is one file', async () => {
  await expect(scanPaths(['tuesday/*.ply'])).rejects.toMatchObject({ code: 'no-match' });
  await expect(scanPaths(['-', '-'])).rejects.toMatchObject({ code: 'stdin-twice' });
  await expect(scanPaths(['-'], '/dev/stdin')).rejects.toMatchObject({ code: 'stdin-twice' });
});
