import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { platePlan, platePly } from './plate.js';

const folder = mkdtempSync(join(tmpdir(), 'fettle-batch-example-'));
const root = fileURLToPath(new URL('../..', import.meta.url));
const batch = (...args: string[]) =>
  spawnSync(process.execPath, ['--import', 'tsx', 'examples/batch-measure.ts', ...args], {
    cwd: root,
    encoding: 'utf8',
  });

beforeAll(() => {
  mkdirSync(join(folder, 'scans'));
  writeFileSync(join(folder, 'plan.json'), JSON.stringify(platePlan()));
  for (const [i, name] of ['one', 'two'].entries())
    writeFileSync(join(folder, 'scans', `${name}.ply`), platePly({ seed: i + 1, boreRadius: 8 + i / 20 }));
  writeFileSync(join(folder, 'scans', 'torn.ply'), 'ply\n');
  writeFileSync(join(folder, 'scans', 'notes.txt'), 'no scan');
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

test('the batch script measures a folder, tells which scan is bad and goes on, and leaves a folder a scan', () => {
  const out = join(folder, 'out');
  const { status, stdout, stderr } = batch(join(folder, 'plan.json'), join(folder, 'scans'), out);
  expect(stderr).toBe('');
  expect(stdout).toContain('one.ply measured');
  expect(stdout).toMatch(/torn\.ply could not be measured: .*torn\.ply: /);
  expect(stdout).not.toContain('notes.txt');
  expect(stdout).toMatch(/bore.*diameter/s);
  expect(readFileSync(join(out, 'all-scans.csv'), 'utf8')).toContain('bore');
  for (const name of ['one', 'two']) expect(existsSync(join(out, name, 'results.json'))).toBe(true);
  expect(status).toBe(2);
});

test('without its three arguments it tells how it is called', () => {
  const { status, stderr } = batch('plan.json');
  expect(stderr).toBe('Usage: npx tsx examples/batch-measure.ts PLAN.json FOLDER OUT\n');
  expect(status).toBe(2);
});
