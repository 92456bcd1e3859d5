import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writePly } from '@fettle/io';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openScan } from '../../packages/io/src/node/files.js';
import { stagingName } from '../../packages/io/src/node/staging.js';
import { writeFileWhole } from '../../packages/io/src/node/write-whole.js';
import { file } from './bytes.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-files-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});
const path = (name: string) => join(folder, name);

describe('openScan', () => {
  it('names the scan after its file, knows its size, and tells progress', async () => {
    writeFileSync(path('foot.obj'), 'v 1 2 3\nv 2 3 4\n');
    const seen: (readonly [number, number])[] = [];
    const scan = await openScan(path('foot.obj'), {
      units: 'mm',
      onProgress: (bytes, total) => seen.push([bytes, total]),
    });
    expect(scan).toMatchObject({ name: 'foot.obj', source: { format: 'obj', bytes: 16 } });
    expect(seen).toEqual([[16, 16]]);
  });

  it('reads a file larger than its pieces', async () => {
    const positions = Float64Array.from({ length: 300_000 }, (_, i) => i / 7);
    await writeFileWhole(path('cloud.ply'), writePly({ positions, units: 'mm', name: 'cloud' }));
    expect((await openScan(path('cloud.ply'))).positions).toEqual(positions);
  });

  it.each([
    ['missing.ply', 'file-missing'],
    ['.', 'file-unreadable'],
  ])('%s', async (name, code) => {
    await expect(openScan(path(name))).rejects.toMatchObject({ code });
  });

  it('a file that is refused is closed', async () => {
    writeFileSync(path('letter.txt'), 'Dear customer');
    const open = () => readdirSync('/proc/self/fd').length;
    const before = process.platform === 'linux' ? open() : 0;
    for (let i = 0; i < 20; i++)
      await expect(openScan(path('letter.txt'))).rejects.toMatchObject({ code: 'not-a-scan' });
    if (process.platform === 'linux') expect(open()).toBeLessThan(before + 5);
  });
});

/** Kills a process while it writes a file that never ends. */
async function killedWriter(name: string): Promise<void> {
  const module = new URL('../../packages/io/dist/node/write-whole.js', import.meta.url).href;
  const script = `
    import { writeFileWhole } from ${JSON.stringify(module)};
    async function* endless() {
      for (let i = 0; ; i++) {
        if (i === 20) process.stdout.write('half-way');
        await new Promise((resolve) => setTimeout(resolve, 1));
        yield new Uint8Array(1 << 16);
      }
    }
    await writeFileWhole(${JSON.stringify(path(name))}, endless());
  `;
  const writer = spawn(process.execPath, ['--input-type=module', '-e', script], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const end = once(writer, 'exit');
  const [said] = await Promise.race([once(writer.stdout, 'data'), end]);
  expect(String(said)).toBe('half-way');
  writer.kill('SIGKILL');
  await end;
}

describe('writeFileWhole', () => {
  it('replaces the target in one go and leaves nothing beside it', async () => {
    writeFileSync(path('out.txt'), 'old');
    await writeFileWhole(path('out.txt'), [file('new '), file('words')]);
    expect(readFileSync(path('out.txt'), 'utf8')).toBe('new words');
    expect(readdirSync(folder)).toEqual(['out.txt']);
  });

  it('takes pieces that are made while others are written', async () => {
    async function* slowly() {
      for (const word of ['a', 'b', 'c']) {
        await new Promise((resolve) => setTimeout(resolve, 1));
        yield file(word);
      }
    }
    await writeFileWhole(path('out.txt'), slowly());
    expect(readFileSync(path('out.txt'), 'utf8')).toBe('abc');
  });

  it('an error half-way leaves the old file and nothing beside it', async () => {
    writeFileSync(path('out.txt'), 'old');
    function* failing() {
      yield file('new');
      throw new Error('no more');
    }
    await expect(writeFileWhole(path('out.txt'), failing())).rejects.toThrow('no more');
    expect(readFileSync(path('out.txt'), 'utf8')).toBe('old');
    expect(readdirSync(folder)).toEqual(['out.txt']);
  });

  it('a folder of that name says so', async () => {
    mkdirSync(path('taken'));
    await expect(writeFileWhole(path('taken'), [file('x')])).rejects.toMatchObject({
      code: 'file-not-written',
      message: expect.stringContaining('taken: not written, a folder has this name'),
    });
    expect(readdirSync(folder)).toEqual(['taken']);
  });

  it('a missing folder is named', async () => {
    await expect(writeFileWhole(path('none/out.txt'), [file('x')])).rejects.toMatchObject({ code: 'file-not-written' });
  });

  it('a writer that is killed half-way leaves the old file', async () => {
    writeFileSync(path('out.ply'), 'old');
    await killedWriter('out.ply');
    expect(readFileSync(path('out.ply'), 'utf8')).toBe('old');
  });

  it('keeps the permissions of the file it replaces', async () => {
    writeFileSync(path('out.txt'), 'old');
    chmodSync(path('out.txt'), 0o640);
    await writeFileWhole(path('out.txt'), [file('new')]);
    expect(statSync(path('out.txt')).mode & 0o777).toBe(0o640);
  });

  it('writes names as long as the file system takes, and says of longer ones that they are', async () => {
    // NAME_MAX of Linux and most others: 255 bytes.
    const longest = 'x'.repeat(255);
    await writeFileWhole(path(longest), [file('long')]);
    expect(readdirSync(folder)).toEqual([longest]);
    await expect(writeFileWhole(path(`${longest}x`), [file('long')])).rejects.toMatchObject({
      code: 'file-not-written',
      message: expect.stringContaining('its name is longer than the file system takes'),
    });
    expect(readdirSync(folder)).toEqual([longest]);
  });
});

describe('what dead runs left', () => {
  it('is taken away by the next write; what living ones, other machines or other programs have there is not', async () => {
    await killedWriter('a.ply');
    const [left] = readdirSync(folder);
    expect(left).toMatch(/^\.fettle-/);
    const [, machine, boot] = left!.slice(1).split('-') as [string, string, string];
    const keep = [stagingName(), left!.replace(machine, '0badcafe'), '.a.ply.0123456789ab.part', '.fettle'];
    for (const name of keep) writeFileSync(path(name), 'in use');
    // The number of a living process, which has another start: its number was given away again.
    const reused = `.fettle-${machine}-${boot}-${process.pid}-1-0123456789ab`;
    mkdirSync(path(reused));
    writeFileSync(path(`${reused}/0`), 'half');
    await writeFileWhole(path('b.ply'), [file('new')]);
    expect(readdirSync(folder).sort()).toEqual(['b.ply', ...keep].sort());
  });
});
