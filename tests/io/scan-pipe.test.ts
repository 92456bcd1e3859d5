import { execFileSync, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import {
  closeSync,
  constants,
  createWriteStream,
  mkdtempSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { openScan, openScanWithSource } from '../../packages/io/src/node/files.js';
import { platePly } from './plate.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-pipe-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));
const at = (name: string): string => join(folder, name);

/** SHA-256 by Node's crypto, as `sha256sum` prints it. */
const sha256 = (bytes: string | Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

describe('the hash of a scan is of the bytes it was read from', () => {
  test('when another file takes its name on the way', async () => {
    const text = platePly();
    writeFileSync(at('plate.ply'), text);
    writeFileSync(at('other.ply'), platePly({ seed: 2 }).repeat(2));
    const { scan, source } = await openScanWithSource(at('plate.ply'), {
      onProgress: () => {
        try {
          renameSync(at('other.ply'), at('plate.ply'));
        } catch {
          // It has been done.
        }
      },
    });
    expect(scan.name).toBe('plate.ply');
    expect(source).toEqual({ file: 'plate.ply', bytes: text.length, sha256: sha256(text) });
    expect(sha256(readFileSync(at('plate.ply')))).not.toBe(source.sha256);
  });

  test('with all of a file whose reading had enough before its end', async () => {
    // A gzip file with something behind it: what is whole is taken, and the file is more than that.
    const lines = Array.from({ length: 100_000 }, (_, i) => `${i} ${Math.sqrt(i)} ${Math.cbrt(i)}\n`);
    const whole = Buffer.concat([gzipSync(lines.join('')), Buffer.alloc(3 << 20, 7)]);
    writeFileSync(at('points.xyz.gz'), whole);
    const { scan, source } = await openScanWithSource(at('points.xyz.gz'), { keepWhole: true });
    expect(scan.positions.length).toBeGreaterThan(3 * 90_000);
    expect(source).toEqual({ file: 'points.xyz.gz', bytes: whole.length, sha256: sha256(whole) });
  });

  test('of an OBJ file so large that a second thread would help to read it', async () => {
    const text = `${'v 1.25 2.5 3.75\nv 2 3 4\nv 3 5 4\nf -1 -2 -3\n'.repeat(800_000)}`;
    writeFileSync(at('large.obj'), text);
    const { source } = await openScanWithSource(at('large.obj'));
    expect(source).toEqual({ file: 'large.obj', bytes: text.length, sha256: sha256(text) });
  }, 120_000);
});

describe.skipIf(process.platform === 'win32')('a named pipe', () => {
  const pipe = (): string => {
    execFileSync('mkfifo', [at('scan')]);
    return at('scan');
  };

  test('is read as a scan, once, with its hash', async () => {
    const path = pipe();
    const text = platePly();
    const reading = openScanWithSource(path);
    createWriteStream(path).end(text);
    const { scan, source } = await reading;
    expect(scan.positions.length / 3).toBe(Number(/element vertex (\d+)/.exec(text)![1]));
    expect(source).toEqual({ file: 'scan', bytes: text.length, sha256: sha256(text) });
  });

  test('nobody writes to is waited for until the signal says stop', async () => {
    const controller = new AbortController();
    const reading = openScan(pipe(), { signal: controller.signal });
    const reason = new Error('enough');
    setTimeout(() => controller.abort(reason), 20);
    await expect(reading).rejects.toBe(reason);
  });

  test('that stays open without an end is left when the signal says stop', async () => {
    const path = pipe();
    const controller = new AbortController();
    const reading = openScan(path, { signal: controller.signal });
    const writer = createWriteStream(path);
    writer.write('ply\nformat ascii 1.0\n');
    const reason = new Error('enough');
    setTimeout(() => controller.abort(reason), 20);
    await expect(reading).rejects.toBe(reason);
    writer.on('error', () => undefined).destroy();
  });

  test('nothing comes through does not keep the command from ending when it is asked to', async () => {
    const path = pipe();
    writeFileSync(
      at('plan.json'),
      JSON.stringify({
        version: 1,
        title: 'Pipe',
        steps: [{ step: 'region', id: 'all-of-it', box: { min: [0, 0, 0], max: [1, 1, 1] } }],
      }),
    );
    const bin = new URL('../../packages/io/bin/fettle.js', import.meta.url).pathname;
    const child = spawn(process.execPath, [bin, 'measure', at('plan.json'), path], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const ended = new Promise((resolve) => child.on('close', resolve));
    // It has opened the pipe for reading once a writer can open it without waiting.
    let writer: number | undefined;
    while (writer === undefined) {
      await new Promise((resolve) => setTimeout(resolve, 20));
      try {
        writer = openSync(path, constants.O_WRONLY | constants.O_NONBLOCK);
      } catch {
        // Nobody reads it yet.
      }
    }
    child.kill('SIGTERM');
    expect(await ended).toBe(130);
    closeSync(writer);
  }, 120_000);
});
