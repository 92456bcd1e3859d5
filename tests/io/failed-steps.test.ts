import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ResultsJson } from '@fettle/geom';
import { measureFiles } from '@fettle/io/node';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { plateBox, platePlan, platePly } from './plate.js';

const folder = mkdtempSync(join(tmpdir(), 'fettle-failed-'));
const at = (...names: string[]) => join(folder, ...names);
const bin = new URL('../../packages/io/bin/fettle.js', import.meta.url).pathname;

interface Ended {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}
function fettle(...args: string[]): Promise<Ended> {
  const child = spawn(process.execPath, [bin, ...args], { cwd: folder, env: { ...process.env, COLUMNS: '400' } });
  let [stdout, stderr] = ['', ''];
  child.stdout.on('data', (text) => (stdout += text));
  child.stderr.on('data', (text) => (stderr += text));
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, stdout, stderr })));
}

/** The plate's plan, and a spot of the bore's wall that is there where the bore's radius is 8.6, not where it is 8. */
function planWith(spot: object, ...deliveries: object[]): object {
  const plan = platePlan({ min: 15.9, max: 17.3 }) as { steps: object[] };
  return {
    ...plan,
    steps: [
      ...plan.steps,
      { step: 'region', id: 'spot', box: plateBox([68.4, 28, 1], [68.9, 32, 9]), ...spot },
      { step: 'fit', id: 'spot-face', shape: 'plane', to: 'spot' },
      { step: 'measure', id: 'spot-off', distance: ['spot-face', 'side'] },
      ...deliveries,
    ],
  };
}
const deliveries = [
  { step: 'deliver', id: 'too-few', scan: { format: 'ply', in: 'datum', simplify: { triangles: 10 } } },
  { step: 'deliver', id: 'spot-cad', cad: { in: 'datum', items: ['spot-face'] } },
  { step: 'deliver', id: 'all-cad', cad: {} },
  { step: 'deliver', id: 'report', report: {} },
];

beforeAll(() => {
  writeFileSync(at('wide.ply'), platePly({ boreRadius: 8.6 }));
  writeFileSync(at('narrow.ply'), platePly({ boreRadius: 8 }));
  writeFileSync(at('notes.ply'), 'Dear colleague,\nplease find the scan attached.\n');
  writeFileSync(at('plan.json'), JSON.stringify(planWith({}, ...deliveries)));
  writeFileSync(at('plain.json'), JSON.stringify(planWith({})));
  writeFileSync(at('optional.json'), JSON.stringify(planWith({ optional: true })));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const results = (...names: string[]): ResultsJson => JSON.parse(readFileSync(at(...names, 'results.json'), 'utf8'));

describe('a step that fails', () => {
  test('loses neither the sheet nor the files that do not rest on it, and ends with 1', async () => {
    const { code, stdout, stderr } = await fettle('measure', 'plan.json', 'narrow.ply', '--out', 'one');
    expect(code).toBe(1);
    expect(readdirSync(at('one')).sort()).toEqual([
      'all-cad.step',
      'files.json',
      'job-sheet.csv',
      'report.html',
      'results.json',
    ]);
    expect(stdout).toMatch(/diameter +16\.0/);
    expect(stdout).toContain('Failed: 2 of 22 steps failed, and 3 wait for them.');
    expect(stdout).toMatch(
      /- spot: narrow\.ply: the box holds no point\..* Waiting for it: spot-face, spot-off, spot-cad\./,
    );
    expect(stdout).toMatch(/- too-few: .* triangles are protected/);
    expect(stderr).toMatch(/^fettle: spot: narrow\.ply: the box holds no point/);
    expect(stderr).toMatch(/2 of 22 steps failed, and 3 wait for them\.\n$/);
    const failed = results('one').failed!.map(({ id, code }) => [id, code]);
    expect(failed).toEqual([
      ['spot', 'region-empty'],
      ['spot-face', 'step-waits'],
      ['spot-off', 'step-waits'],
      ['too-few', 'simplify-protected'],
      ['spot-cad', 'step-waits'],
    ]);
    expect(results('one').passed).toBe(false);
    const records = readFileSync(at('one', 'job-sheet.csv'), 'utf8').trim().split('\r\n').slice(-5);
    expect(records.map((record) => record.split(',')[1])).toEqual(failed.map(([id]) => id));
    expect(records[0]).toMatch(/^,spot,region,(,*)failed,,,,,,"?spot: narrow\.ply: the box holds no point/);
    expect(records[1]).toMatch(/,waits,/);
    const width = readFileSync(at('one', 'job-sheet.csv'), 'utf8').split('\r\n')[0]!.split(',').length;
    expect(records[1]!.replaceAll(/"[^"]*"/g, '').split(',')).toHaveLength(width);
    const report = readFileSync(at('one', 'report.html'), 'utf8');
    expect(report).toContain('<strong class="outside">Incomplete</strong>');
    expect(report).toMatch(/<h2>Failed<\/h2>.*spot: .*Waiting for it: spot-face, spot-off, spot-cad\..*too-few: /s);
  });

  test('that is a file which cannot be written leaves the others, and is told in the results', async () => {
    mkdirSync(at('blocked', 'all-cad.step'), { recursive: true });
    const { code, stdout } = await fettle('measure', 'plan.json', 'wide.ply', '--out', 'blocked');
    expect(code).toBe(1);
    expect(results('blocked').failed!.map(({ id, code }) => [id, code])).toEqual([
      ['too-few', 'simplify-protected'],
      ['all-cad', 'file-not-written'],
    ]);
    expect(stdout).toMatch(/- all-cad: .*a folder has this name/);
    expect(readdirSync(at('blocked'))).toContain('spot-cad.step');
    expect(readFileSync(at('blocked', 'report.html'), 'utf8')).toMatch(/<h2>Failed<\/h2>.*all-cad: /s);
  });

  test('that is optional is told as left out, and the job ends with 0', async () => {
    const { code, stdout, stderr } = await fettle('measure', 'optional.json', 'narrow.ply', '--out', 'left-out');
    expect(code).toBe(0);
    expect(stdout).toMatch(/Left out, being optional\n- spot: .* Left out with it: spot-face, spot-off\./);
    expect(stderr).toMatch(/^fettle: left out: spot: [^\n]*\n$/);
    expect(results('left-out').passed).toBe(true);
    expect(readFileSync(at('left-out', 'job-sheet.csv'), 'utf8')).toMatch(/\r\n,spot-off,measure,.*,left out,/);
  });
});

describe('several scans', () => {
  test('each that failed has its line in the table and its record in all-scans.csv', async () => {
    const scans = ['wide.ply', 'narrow.ply', 'notes.ply'];
    const { code, stdout, stderr } = await fettle('measure', 'plain.json', ...scans, '--out', 'batch');
    expect(code).toBe(2);
    expect(stdout).toMatch(
      /Failed\n- narrow: spot: .* And what rests on it: spot-face, spot-off\.\n- notes: notes\.ply/,
    );
    expect(stderr).toContain('1 of 3 scans could be measured in part only.');
    expect(stderr).toContain('1 of 3 scans could not be measured.');
    const [head, ...records] = readFileSync(at('batch', 'all-scans.csv'), 'utf8').trim().split('\r\n');
    expect(head).toContain('unit,wide,narrow,notes,mean');
    const failed = records.filter((record) => record.startsWith(','));
    expect(failed[0]).toMatch(/^,spot,,,failed,,,"?spot: narrow\.ply: the box holds no point/);
    expect(failed[1]).toMatch(/^,spot-face,,,waits,,,/);
    expect(failed[2]).toMatch(/^,spot-off,,,waits,,,/);
    expect(failed[3]).toMatch(/^,scan,notes,,failed,,,,.*notes\.ply/);
    expect(failed).toHaveLength(4);
    const columns = (record: string) => record.replaceAll(/"[^"]*"/g, '').split(',').length;
    expect(new Set([head!, ...records].map(columns))).toEqual(new Set([19]));
    // What the narrow one does not have is over the others, without a warning a value: its step is told as failed.
    expect(stdout).not.toMatch(/spot-off: no distance/);
    const partly = await fettle('measure', 'plain.json', 'wide.ply', 'narrow.ply');
    expect(partly.code).toBe(1);
  }, 180_000);

  test('the library tells the same', async () => {
    const { scans, summary } = await measureFiles(planWith({}), [at('narrow.ply'), at('notes.ply')]);
    expect(scans[0]!.results!.failed.map(({ id }) => id)).toEqual(['spot', 'spot-face', 'spot-off']);
    expect(summary.scans).toEqual(['narrow']);
    expect(summary.failures.map(({ scan, step, code }) => [scan, step, code])).toEqual([
      ['narrow', 'spot', 'region-empty'],
      ['narrow', 'spot-face', 'step-waits'],
      ['narrow', 'spot-off', 'step-waits'],
      ['notes', undefined, scans[1]!.error!.code],
    ]);
    expect(summary.passed).toBe(false);
  });
});
