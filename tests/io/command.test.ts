import { type ChildProcess, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { platePlan, platePly } from './plate.js';

const bin = fileURLToPath(new URL('../../packages/io/bin/fettle.js', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'fettle-command-'));
const at = (...names: string[]): string => join(folder, ...names);

interface Ended {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** The command as a shell runs it, in the folder of the files, its output not a terminal. */
const start = (args: readonly string[], env: Record<string, string> = {}): ChildProcess =>
  spawn(process.execPath, [bin, ...args], {
    cwd: folder,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });

function ended(child: ChildProcess): Promise<Ended> {
  let [stdout, stderr] = ['', ''];
  child.stdout?.setEncoding('utf8').on('data', (text) => (stdout += text));
  child.stderr?.setEncoding('utf8').on('data', (text) => (stderr += text));
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, stdout, stderr })));
}

const fettle = (...args: string[]): Promise<Ended> => ended(start(args));

beforeAll(() => {
  writeFileSync(at('plate.ply'), platePly());
  writeFileSync(at('second.ply'), platePly({ seed: 2 }));
  writeFileSync(at('worn.ply'), platePly({ seed: 3, boreRadius: 8.2 }));
  writeFileSync(at('notes.ply'), 'Dear colleague,\nplease find the scan attached.\n');
  writeFileSync(at('plan.json'), JSON.stringify(platePlan()));
  writeFileSync(at('bad-plan.json'), JSON.stringify(platePlan()).replace('"to":"flat"', '"to":"flt"'));
  writeFileSync(at('broken.json'), '{\n  "version": 1,\n  "title": oops\n}\n');
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('fettle measure PLAN SCAN', () => {
  test('prints the job sheet and ends with 0', async () => {
    const { code, stdout, stderr } = await fettle('measure', 'plan.json', 'plate.ply');
    expect(stderr).toBe('');
    expect(code).toBe(0);
    const bore = stdout.split('\n').find((line) => /diameter/.test(line));
    // The plate's bore is 16 mm by construction; 0.02 mm of noise on 370 points leaves a few micrometers.
    expect(Number(/(\d+\.\d+)/.exec(bore ?? '')?.[1])).toBeCloseTo(16, 1);
    expect(bore).toContain('15.9 to 16.1');
    expect(bore).toContain('within');
    expect(stdout).toContain('none of 1 outside');
    expect(stdout).toContain('Check by hand every size that must fit');
    // Its output is no terminal: no progress, no colors.
    for (const control of ['\r', '\u001b']) expect(stdout).not.toContain(control);
  });

  test('ends with 1 when a limit fails, and says which', async () => {
    const { code, stdout } = await fettle('measure', 'plan.json', 'worn.ply');
    expect(code).toBe(1);
    expect(stdout).toMatch(/bore: diameter 16\.\d+ mm is 0\.\d+ mm over 16\.1 mm/);
  });

  test('writes results, sheet and the scan in its datum frame, over those of an earlier run', async () => {
    mkdirSync(at('written/deep'), { recursive: true });
    writeFileSync(at('written/deep/results.json'), 'old');
    const { code, stdout } = await fettle('measure', 'plan.json', 'plate.ply', '--out', 'written/deep');
    expect(code).toBe(0);
    expect(readdirSync(at('written/deep')).sort()).toEqual([
      'files.json',
      'job-sheet.csv',
      'results.json',
      'scan-in-datum.ply',
    ]);
    expect(stdout).toContain('results.json, job-sheet.csv, scan-in-datum.ply');
    const results = JSON.parse(readFileSync(at('written/deep/results.json'), 'utf8'));
    expect(results.title).toBe('Plate');
    expect(results.passed).toBe(true);
    expect(readFileSync(at('written/deep/job-sheet.csv'), 'utf8')).toMatch(/^balloon,id,what,/);
  });

  test('--json prints one JSON document, the same as the file', async () => {
    const { code, stdout, stderr } = await fettle('measure', 'plan.json', 'worn.ply', '--json', '--out', 'json');
    expect(code).toBe(1);
    expect(stderr).toBe('');
    expect(JSON.parse(stdout)).toEqual(JSON.parse(readFileSync(at('json/results.json'), 'utf8')));
  });

  test('keeps to the width of COLUMNS', async () => {
    const { stdout } = await ended(start(['measure', 'plan.json', 'plate.ply'], { COLUMNS: '60' }));
    expect(Math.max(...stdout.split('\n').map((line) => [...line].length))).toBeLessThanOrEqual(60);
  });
});

describe('what cannot be measured ends with 2 and one message', () => {
  test.each([
    [
      'a plan with a wrong reference',
      ['bad-plan.json', 'plate.ply'],
      /^fettle: bad-plan\.json is not valid\. top, to: .*"flt".*did you mean "flat"\?\n$/s,
    ],
    ['a plan that is no JSON', ['broken.json', 'plate.ply'], /^fettle: broken\.json, line 3, column 12: .*\n$/],
    ['a plan that is missing', ['none.json', 'plate.ply'], /^fettle: none\.json: there is no such file\.\n$/],
    ['a scan that is missing', ['plan.json', 'none.ply'], /^fettle: .*none\.ply.*\n$/],
    ['a scan that is none', ['plan.json', 'notes.ply'], /^fettle: .*notes\.ply.*\n$/],
    ['a folder for a scan', ['plan.json', '.'], /^fettle: .*folder.*\n$/],
    [
      'outputs into a file',
      ['plan.json', 'plate.ply', '--out', 'plan.json'],
      /^fettle: plan\.json: a file has this name.*\n$/,
    ],
    [
      'outputs below a file',
      ['plan.json', 'plate.ply', '--out', 'plan.json/x'],
      /^fettle: .*a file has this name.*\n$/,
    ],
  ])('%s', async (_, args, message) => {
    const { code, stdout, stderr } = await fettle('measure', ...args);
    expect(code).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toMatch(message);
    expect(stderr).not.toContain('    at ');
  });

  test('a bad plan is refused before the scan is looked at', async () => {
    const { stderr } = await fettle('measure', 'bad-plan.json', 'none.ply');
    expect(stderr).toContain('flt');
    expect(stderr).not.toContain('none.ply');
  });

  test('--debug and FETTLE_DEBUG show the stack', async () => {
    expect((await fettle('measure', 'none.json', 'plate.ply', '--debug')).stderr).toContain('    at ');
    const child = start(['measure', 'none.json', 'plate.ply'], { FETTLE_DEBUG: '1' });
    expect((await ended(child)).stderr).toContain('    at ');
  });

  test('--json still prints one document', async () => {
    const { code, stdout, stderr } = await fettle('measure', 'plan.json', 'none.ply', '--json');
    expect(code).toBe(2);
    expect(JSON.parse(stdout).error.message).toContain('none.ply');
    expect(stderr).toContain('none.ply');
  });

  test('wrong usage', async () => {
    const wrong = [
      ['measure'],
      ['measure', 'plan.json'],
      ['measure', 'plan.json', 'plate.ply', '--ouput', 'x'],
      ['mesure', 'plan.json', 'plate.ply'],
      ['measure', 'plan.json', 'plate.ply', '--workers', '0'],
      ['info', 'plate.ply', '--units', 'parsec'],
      [],
    ];
    for (const { code, stdout, stderr } of await Promise.all(wrong.map((args) => fettle(...args)))) {
      expect(code).toBe(2);
      expect(stdout).toBe('');
      expect(stderr.length).toBeGreaterThan(20);
    }
  });
});

describe('fettle measure PLAN SCAN…', () => {
  test('a folder each, one table and CSV over all', async () => {
    const { code, stdout } = await fettle(
      'measure',
      'plan.json',
      'plate.ply',
      'second.ply',
      'worn.ply',
      '--out',
      'batch',
    );
    expect(code).toBe(1);
    expect(readdirSync(at('batch')).sort()).toEqual(['all-scans.csv', 'files.json', 'plate', 'second', 'worn']);
    expect(readdirSync(at('batch/worn')).sort()).toEqual([
      'files.json',
      'job-sheet.csv',
      'results.json',
      'scan-in-datum.ply',
    ]);
    const [head, ...records] = readFileSync(at('batch/all-scans.csv'), 'utf8').trim().split('\r\n');
    expect(head).toContain('unit,plate,second,worn,mean,standard deviation,range,farthest off');
    const diameter = records.find((record) => record.includes(',diameter,'));
    // Radii 8, 8 and 8.2: the worn one is off the mean of the diameters by 4/15 mm.
    expect(diameter).toMatch(/,worn,0\.2[67]/);
    expect(stdout).toMatch(/diameter .* worn\n/);
    expect(stdout).toContain('bore: diameter is outside on worn.');
  });

  test('a bad file is told and the others are measured', async () => {
    const args = ['measure', 'plan.json', 'plate.ply', 'notes.ply', 'second.ply', '--out', 'some'];
    const { code, stdout, stderr } = await fettle(...args);
    expect(code).toBe(2);
    expect(stderr).toContain('notes.ply');
    expect(stderr).toContain('1 of 3 scans could not be measured.');
    expect(stdout).toContain('2 scans: plate, second');
    expect(readdirSync(at('some')).sort()).toEqual(['all-scans.csv', 'files.json', 'plate', 'second']);
  });

  test('--json has every scan, measured or not', async () => {
    const { stdout } = await fettle('measure', 'plan.json', 'plate.ply', 'notes.ply', '--json');
    const { scans, summary } = JSON.parse(stdout);
    expect(scans[0].results.title).toBe('Plate');
    expect(scans[1].error.message).toContain('notes.ply');
    expect(summary.scans).toEqual(['plate']);
  });
});

describe('stopped on the way', () => {
  type Signal = 'SIGKILL' | 'SIGINT' | 'SIGTERM' | 'SIGHUP';

  /** What a run has written aside so far, of all its files. */
  const writtenAside = (out: string): number =>
    readdirSync(at(out))
      .filter((name) => name.startsWith('.fettle-'))
      .reduce((sum, name) => sum + readdirSync(at(out, name)).length, 0);

  /** Waits for some files of the outputs to be written aside, then ends the process by a signal. */
  async function stopWhileWriting(out: string, signal: Signal): Promise<Ended> {
    const child = start(['measure', 'large-plan.json', 'plate.ply', '--out', out]);
    const end = ended(child);
    while (child.exitCode === null && writtenAside(out) < 6) await new Promise((go) => setTimeout(go, 1));
    child.kill(signal);
    return end;
  }

  // Enough copies of the scan that the writing of them cannot be over before the signal comes.
  beforeAll(() => {
    const plan = platePlan() as { steps: object[] };
    for (let i = 0; i < 400; i++)
      plan.steps.push({ step: 'deliver', id: `copy-${i}`, scan: { format: 'obj', in: 'datum' } });
    writeFileSync(at('large-plan.json'), JSON.stringify(plan));
  });

  const earlier = { 'results.json': '{"old":true}', 'copy-399.obj': 'old', 'files.json': 'old list' };

  /** A folder as an earlier run left it. */
  function madeEarlier(out: string): void {
    mkdirSync(at(out));
    for (const [name, text] of Object.entries(earlier)) writeFileSync(at(out, name), text);
  }

  /** The files that can be seen in a folder, and what they hold. */
  const seen = (out: string): Record<string, string> =>
    Object.fromEntries(
      readdirSync(at(out))
        .filter((name) => !name.startsWith('.'))
        .map((name) => [name, readFileSync(at(out, name), 'utf8')]),
    );

  test.each(['SIGINT', 'SIGTERM', 'SIGHUP'] as const)('%s leaves the folder as it was', async (signal) => {
    const out = `stopped-${signal}`;
    madeEarlier(out);
    const { code, stderr } = await stopWhileWriting(out, signal);
    expect(code).toBe(130);
    expect(stderr).toBe('fettle: Stopped. Files of earlier runs are as they were, or new and whole.\n');
    expect(seen(out)).toEqual(earlier);
    expect(readdirSync(at(out))).toHaveLength(Object.keys(earlier).length);
  });

  test('SIGKILL leaves the files of an earlier run as they were, and the next run takes away what was written aside', async () => {
    madeEarlier('killed');
    expect((await stopWhileWriting('killed', 'SIGKILL')).code).toBeNull();
    expect(seen('killed')).toEqual(earlier);
    // Of a run that cannot be known to be dead, as on another machine, nothing is touched.
    const foreign = '.fettle-0badcafe-0badcafe-1-1-0123456789ab';
    writeFileSync(at('killed', foreign), 'another run');
    expect((await fettle('measure', 'plan.json', 'plate.ply', '--out', 'killed')).code).toBe(0);
    expect(readdirSync(at('killed')).sort()).toEqual(
      [foreign, 'copy-399.obj', 'files.json', 'job-sheet.csv', 'results.json', 'scan-in-datum.ply'].sort(),
    );
    const list = JSON.parse(readFileSync(at('killed/files.json'), 'utf8'));
    // SHA-256 by Node's crypto, of the files as they lie there.
    for (const { name, bytes, sha256 } of list.files) {
      const content = readFileSync(at('killed', name));
      expect([bytes, sha256]).toEqual([content.length, createHash('sha256').update(content).digest('hex')]);
    }
    expect(list.files.map(({ name }: { name: string }) => name)).toEqual([
      'job-sheet.csv',
      'results.json',
      'scan-in-datum.ply',
    ]);
    const scan = readFileSync(at('plate.ply'));
    expect(list.scan).toEqual({
      file: 'plate.ply',
      bytes: scan.length,
      sha256: createHash('sha256').update(scan).digest('hex'),
    });
  });
});

describe('the other subcommands', () => {
  test('schema prints the JSON Schema of plans', async () => {
    const { code, stdout } = await fettle('schema');
    expect(code).toBe(0);
    expect(JSON.parse(stdout).properties.steps.type).toBe('array');
  });

  test('check passes a good plan and refuses a bad one', async () => {
    const good = await fettle('check', 'plan.json');
    expect(good.code).toBe(0);
    expect(good.stdout).toContain('15 steps');
    const bad = await fettle('check', 'bad-plan.json');
    expect(bad.code).toBe(2);
    expect(bad.stderr).toContain('did you mean "flat"?');
    expect(JSON.parse((await fettle('check', 'bad-plan.json', '--json')).stdout).error.code).toBe('plan-invalid');
  });

  test('--version and --help', async () => {
    const { version } = JSON.parse(readFileSync(new URL('../../packages/io/package.json', import.meta.url), 'utf8'));
    expect(await fettle('--version')).toEqual({ code: 0, stdout: `${version}\n`, stderr: '' });
    const commands = [[], ['measure'], ['info'], ['check'], ['schema']];
    for (const { code, stdout, stderr } of await Promise.all(commands.map((args) => fettle(...args, '--help')))) {
      expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
      expect(stdout).toMatch(/^Usage: fettle/);
      expect(stdout).toMatch(/Examples?:\n {2}fettle /);
    }
  });

  test('a reader that has had enough is no error', async () => {
    const child = start(['schema']);
    child.stdout?.destroy();
    const { code, stderr } = await ended(child);
    expect({ code, stderr }).toEqual({ code: 0, stderr: '' });
    expect(existsSync(at('core'))).toBe(false);
  });
});
