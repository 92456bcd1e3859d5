import { spawn } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ResultsJson } from '@fettle/geom';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { plateBox, platePly } from './plate.js';

const folder = mkdtempSync(join(tmpdir(), 'fettle-deliveries-'));
const at = (...names: string[]) => join(folder, ...names);
const bin = new URL('../../packages/io/bin/fettle.js', import.meta.url).pathname;

interface Ended {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}
function measured(out: string, how: { readonly preload?: string; readonly uid?: number } = {}): Promise<Ended> {
  const { preload, uid } = how;
  const child = spawn(process.execPath, [bin, 'measure', 'plan.json', 'plate.ply', '--out', out], {
    cwd: folder,
    ...(uid !== undefined && { uid, gid: uid }),
    env: { ...process.env, COLUMNS: '400', ...(preload && { NODE_OPTIONS: `--import ${preload}` }) },
  });
  let [stdout, stderr] = ['', ''];
  child.stdout.on('data', (text) => (stdout += text));
  child.stderr.on('data', (text) => (stderr += text));
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, stdout, stderr })));
}

const plan = {
  version: 1,
  title: 'The top of a plate',
  steps: [
    { step: 'region', id: 'skin', box: plateBox([2, 2, 9], [98, 25, 11]) },
    { step: 'fit', id: 'top', shape: 'plane', to: 'skin' },
    // The top is square to y of the scan's axes: seen along y it has no line.
    { step: 'deliver', id: 'sheet', drawing: { view: 'front' } },
    { step: 'deliver', id: 'whole', scan: { format: 'obj' } },
    { step: 'deliver', id: 'faces', cad: {} },
    { step: 'deliver', id: 'report', report: {} },
  ],
};

beforeAll(() => {
  chmodSync(folder, 0o755);
  writeFileSync(at('plate.ply'), platePly());
  writeFileSync(at('plan.json'), JSON.stringify(plan));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

test('a drawing with nothing on it leaves the other files, and is told in all that tell', async () => {
  const { code, stdout, stderr } = await measured('empty');
  expect(code).toBe(1);
  expect(stdout).toMatch(/\n- sheet: There is nothing on this drawing/);
  expect(stderr).toBe('fettle: 1 of 6 steps failed.\n');
  const files = ['faces.step', 'files.json', 'job-sheet.csv', 'report.html', 'results.json', 'whole.obj'];
  expect(readdirSync(at('empty')).sort()).toEqual(files);
  const { failed } = JSON.parse(readFileSync(at('empty', 'results.json'), 'utf8')) as ResultsJson;
  expect(failed!.map(({ id, code }) => [id, code])).toEqual([['sheet', 'drawing-empty']]);
  expect(readFileSync(at('empty', 'report.html'), 'utf8')).toMatch(/<h2>Failed<\/h2>.*sheet: There is nothing/s);
  expect(readFileSync(at('empty', 'job-sheet.csv'), 'utf8')).toMatch(/\r\n,sheet,deliver,.*failed,/);
});

/** A module that makes files of more than so many bytes find the disk full, as Linux tells it (write(2), ENOSPC). */
const fullBeyond = (bytes: number): string => `
  import fs from 'node:fs';
  import { syncBuiltinESMExports } from 'node:module';
  const open = fs.promises.open;
  fs.promises.open = async (...args) => {
    const file = await open(...args);
    if (args[1] !== 'wx') return file;
    const write = file.writeFile.bind(file);
    let left = ${bytes};
    file.writeFile = async (chunk) => {
      left -= chunk.length;
      if (left < 0) throw Object.assign(new Error('ENOSPC: no space left on device, write'), { code: 'ENOSPC' });
      await write(chunk);
    };
    return file;
  };
  syncBuiltinESMExports();
`;

test('a disk that is full for one file is an error of the run: nothing is put in place, what was there stays', async () => {
  await measured('full');
  const sizes = Object.fromEntries(readdirSync(at('full')).map((name) => [name, statSync(at('full', name)).size]));
  const before = readFileSync(at('full', 'files.json'), 'utf8');
  const room = sizes['whole.obj']! - 1;
  // All that tells of failures would have its room.
  for (const name of ['results.json', 'job-sheet.csv', 'files.json']) expect(sizes[name]).toBeLessThan(room);
  writeFileSync(at('full.mjs'), fullBeyond(room));
  rmSync(at('full', 'faces.step'));
  const { code, stderr } = await measured('full', { preload: at('full.mjs') });
  expect(stderr).toMatch(/whole\.obj: not written, the disk is full; what was there before is still there\./);
  expect(code).toBe(2);
  expect(readdirSync(at('full'))).not.toContain('faces.step');
  expect(readdirSync(at('full')).filter((name) => name.startsWith('.'))).toEqual([]);
  expect(readFileSync(at('full', 'files.json'), 'utf8')).toBe(before);
});

describe.skipIf(process.platform === 'win32')('a folder nobody may write to', () => {
  // Root may write anywhere: then as the user nobody.
  const uid = process.getuid?.() === 0 ? 65534 : undefined;

  test.each(['locked', 'locked/deeper', 'locked/deeper/still'])(
    '--out %s is told as such, not as missing',
    async (out) => {
      mkdirSync(at('locked'), { recursive: true });
      chmodSync(at('locked'), 0o555);
      const { code, stderr } = await measured(out, uid === undefined ? {} : { uid });
      expect(stderr).toMatch(/locked.*: not written, no permission to write there\./);
      expect(stderr).not.toMatch(/missing/);
      expect(code).toBe(2);
    },
  );
});
