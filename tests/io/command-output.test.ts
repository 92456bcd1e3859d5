import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { platePlan, platePly } from './plate.js';

/** What the command takes from pipes, and what it does where its output can go no further. */

const bin = fileURLToPath(new URL('../../packages/io/bin/fettle.js', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'fettle-output-'));
const at = (...names: string[]): string => join(folder, ...names);

interface Ended {
  readonly code: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs a line of the shell, in which `$F` is the command, in the folder of the files. */
function shell(line: string): Promise<Ended> {
  const env = { ...process.env, F: `"${process.execPath}" "${bin}"` };
  const child = spawn('bash', ['-c', line.replaceAll('$F', env.F)], { cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] });
  let [stdout, stderr] = ['', ''];
  child.stdout.setEncoding('utf8').on('data', (text) => (stdout += text));
  child.stderr.setEncoding('utf8').on('data', (text) => (stderr += text));
  return new Promise((resolve) => child.on('close', (code) => resolve({ code, stdout, stderr })));
}

beforeAll(() => {
  writeFileSync(at('plate.ply'), platePly());
  writeFileSync(at('plan.json'), JSON.stringify(platePlan()));
  const plan = { ...(platePlan() as { steps: object[] }), title: 'Plate\u001b[31m\u009b2J' };
  writeFileSync(at('red.json'), JSON.stringify(plan));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe.skipIf(process.platform !== 'linux')('output that can go no further', () => {
  test('a full disk is told in a line, and does not read as a limit that failed', async () => {
    const { code, stderr } = await shell('$F schema > /dev/full');
    expect(stderr).toBe('fettle: What was to be printed is cut off: the disk is full. Send it elsewhere.\n');
    expect(code).toBe(2);
  });

  test('a file that takes a part only is no success', async () => {
    // A limit on the size of files stands for the disk: the first write takes 1,024 bytes, the next nothing.
    const { code, stderr } = await shell(`trap '' XFSZ; ulimit -f 1; $F schema > schema.json`);
    expect(readFileSync(at('schema.json')).length).toBeLessThan(10_000);
    expect(stderr).toContain('cut off');
    expect(code).toBe(2);
  });

  test('messages that reach nobody do not change how the command ends', async () => {
    expect((await shell('$F check none.json 2> /dev/full')).code).toBe(2);
  });
});

describe('pipes', () => {
  test('a plan and a scan', async () => {
    const { code, stdout, stderr } = await shell('cat plate.ply | $F measure <(cat plan.json) - --out out');
    expect(stderr).toBe('');
    expect(code).toBe(0);
    expect(stdout).toContain('stdin');
    const { scan } = JSON.parse(readFileSync(at('out/files.json'), 'utf8'));
    const bytes = readFileSync(at('plate.ply'));
    expect(scan).toEqual({
      file: 'stdin',
      bytes: bytes.length,
      sha256: createHash('sha256').update(bytes).digest('hex'),
    });
  });

  test('standard input from a file, and from a socket as another program gives it', async () => {
    expect((await shell('$F info - < plate.ply')).stdout).toContain('stdin');
    const child = spawn(process.execPath, [bin, 'info', '/dev/stdin', '--json'], {
      stdio: ['pipe', 'pipe', 'inherit'],
    });
    let text = '';
    child.stdout.setEncoding('utf8').on('data', (piece) => (text += piece));
    child.stdin.end(platePly());
    await new Promise((resolve) => child.on('close', resolve));
    expect(JSON.parse(text).name).toBe('stdin');
  });

  test('an output does not replace what standard input comes from', async () => {
    writeFileSync(at('scan-in-datum.ply'), platePly());
    const { code, stderr } = await shell('$F measure plan.json - --out . < scan-in-datum.ply');
    expect(stderr).toContain('scan-in-datum.ply would take the place of the scan -');
    expect(code).toBe(2);
    expect(readFileSync(at('scan-in-datum.ply'), 'utf8')).toBe(platePly());
  });
});

test('what names and titles hold does not steer the terminal', async () => {
  const checked = await shell('$F check red.json');
  expect(checked.stdout).toContain('Plate\u241b[31m<U+009B>2J');
  const json = (await shell('$F check red.json --json')).stdout;
  expect(json).toContain('\\u009b2J');
  expect(JSON.parse(json).title).toBe('Plate\u001b[31m\u009b2J');
  const missing = await shell(`$F info $'none\\e[31m.ply'`);
  expect(missing.stderr).toBe('fettle: none\u241b[31m.ply: there is no such file.\n');
});
