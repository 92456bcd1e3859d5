import {
  linkSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { measureFile, measureFiles } from '@fettle/io/node';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { platePlan, platePly } from './plate.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-inputs-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const at = (...names: string[]): string => join(folder, ...names);

/** The plate's plan with a delivery of the scan under this id. */
function planWith(id: string): { steps: object[] } {
  const plan = platePlan() as { steps: object[] };
  plan.steps.push({ step: 'deliver', id, scan: { format: 'ply', in: 'datum' } });
  return plan;
}

/** A scan at this path; what it holds. */
function scanAt(path: string, seed = 1): string {
  const text = platePly({ seed });
  writeFileSync(path, text);
  return text;
}

describe('no output replaces what it is made from', () => {
  test('a delivery with the name of the scan, in its folder, is refused before the scan is read', async () => {
    const before = scanAt(at('plate.ply'));
    const stages: string[] = [];
    const measuring = measureFile(planWith('plate'), at('plate.ply'), {
      out: folder,
      onProgress: ({ stage }) => stages.push(stage),
    });
    await expect(measuring).rejects.toMatchObject({
      code: 'output-is-input',
      message: expect.stringContaining(`${at('plate.ply')} would take the place of the scan ${at('plate.ply')}`),
    });
    expect(readFileSync(at('plate.ply'), 'utf8')).toBe(before);
    expect(stages).toEqual([]);
    expect(readdirSync(folder)).toEqual(['plate.ply']);
  });

  test.each([
    ['a hard link', linkSync],
    ['a symbolic link', symlinkSync],
  ])('%s to the scan is the scan', async (_, link) => {
    const before = scanAt(at('scan.ply'));
    mkdirSync(at('out'));
    link(at('scan.ply'), at('out/copy.ply'));
    await expect(measureFile(planWith('copy'), at('scan.ply'), { out: at('out') })).rejects.toMatchObject({
      code: 'output-is-input',
      message: expect.stringContaining(at('scan.ply')),
    });
    expect(readFileSync(at('scan.ply'), 'utf8')).toBe(before);
  });

  test('so is a scan that is itself a link, and one in a folder that goes by another name', async () => {
    mkdirSync(at('real'));
    scanAt(at('real/plate.ply'));
    symlinkSync(at('real/plate.ply'), at('link.ply'));
    symlinkSync(at('real'), at('same'));
    for (const [scan, out] of [
      [at('link.ply'), at('real')],
      [at('real/plate.ply'), at('same')],
    ] as const)
      await expect(measureFile(planWith('plate'), scan, { out })).rejects.toMatchObject({ code: 'output-is-input' });
  });

  test('names that differ in small and capital letters alone are one name', async () => {
    scanAt(at('Plate.PLY'));
    await expect(measureFile(planWith('plate'), at('Plate.PLY'), { out: folder })).rejects.toMatchObject({
      code: 'output-is-input',
      message: expect.stringContaining(at('Plate.PLY')),
    });
  });

  test('a plan called results.json is kept', async () => {
    scanAt(at('plate.ply'));
    writeFileSync(at('results.json'), JSON.stringify(platePlan()));
    const measuring = measureFile(platePlan(), at('plate.ply'), { out: folder, planFile: at('results.json') });
    await expect(measuring).rejects.toMatchObject({
      code: 'output-is-input',
      message: expect.stringContaining(`the plan ${at('results.json')}`),
    });
  });

  test('in a batch no output of one scan replaces another, nor does the table over all', async () => {
    mkdirSync(at('out/one'), { recursive: true });
    const before = scanAt(at('one.ply'));
    const second = scanAt(at('out/one/scan-in-datum.ply'), 2);
    const table = scanAt(at('out/all-scans.csv'), 3);
    for (const other of ['out/one/scan-in-datum.ply', 'out/all-scans.csv'])
      await expect(measureFiles(platePlan(), [at('one.ply'), at(other)], { out: at('out') })).rejects.toMatchObject({
        code: 'output-is-input',
        message: expect.stringContaining(at(other)),
      });
    expect(readFileSync(at('one.ply'), 'utf8')).toBe(before);
    expect(readFileSync(at('out/one/scan-in-datum.ply'), 'utf8')).toBe(second);
    expect(readFileSync(at('out/all-scans.csv'), 'utf8')).toBe(table);
  });

  test('outputs beside the scan under other names are written as ever', async () => {
    const before = scanAt(at('plate.ply'));
    const { error } = await measureFile(planWith('plate-on-datum'), at('plate.ply'), { out: folder });
    expect(error).toBeUndefined();
    expect(readFileSync(at('plate.ply'), 'utf8')).toBe(before);
    expect(readdirSync(folder)).toContain('plate-on-datum.ply');
  });
});

test('a name no file system takes is refused before the scan is read', async () => {
  scanAt(at('plate.ply'));
  const id = 'a'.repeat(260);
  await expect(measureFile(planWith(id), at('plate.ply'), { out: at('out') })).rejects.toMatchObject({
    code: 'plan-invalid',
    message: expect.stringContaining('at most 200 letters'),
  });
  expect(readdirSync(folder)).toEqual(['plate.ply']);
});
