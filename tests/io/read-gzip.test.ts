import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { bytesOf, readScan, writePly } from '@fettle/io';
import { describe, expect, it, vi } from 'vitest';
import { main } from '../../packages/io/src/node/commands/main.js';
import { file, inPieces, stl } from './bytes.js';

const facets = Array.from({ length: 500 }, (_, i) => [i, 0, 0, i + 1, 0, 0, i + 1, 1, Math.sin(i)]);
const zip = (bytes: Uint8Array) => new Uint8Array(gzipSync(bytes));

describe('a file compressed with gzip is read as what it holds', () => {
  it.each([
    ['binary STL', stl(facets)],
    ['binary STL that begins with solid', stl(facets, facets.length, 'solid')],
    ['OBJ', file('# units mm\nv 0 0 0\nv 1 0 0\nv 1 1 0\nf 1 2 3\n')],
  ])('%s', async (_, bytes) => {
    const { source, ...plain } = await readScan(bytes);
    for (const packed of [zip(bytes), inPieces(zip(bytes), 1), inPieces(zip(bytes), 100)]) {
      const { source: packedSource, ...scan } = await readScan(packed);
      expect(scan).toEqual(plain);
      expect(packedSource).toEqual({ ...source, compression: 'gzip', bytes: zip(bytes).length });
    }
  });

  it('progress is in compressed bytes', async () => {
    const packed = zip(stl(facets));
    const seen: (readonly [number, number | undefined])[] = [];
    await readScan(packed, { onProgress: (bytes, total) => seen.push([bytes, total]) });
    expect(seen).toEqual([[packed.length, packed.length]]);
  });
});

describe('damaged compression', () => {
  const scan = {
    name: 'cloud',
    units: 'mm' as const,
    positions: Float64Array.from({ length: 60_000 }, (_, i) => Math.sin(i)),
  };
  const packed = zip(bytesOf(writePly(scan)));

  it('cut short is refused', async () => {
    await expect(readScan(packed.subarray(0, packed.length / 2), { name: 'scan.ply.gz' })).rejects.toMatchObject({
      code: 'bad-compression',
      message: expect.stringMatching(
        /^scan\.ply\.gz: compressed with gzip, and damaged or cut short \(.+\)\. Export or compress it again\.$/,
      ),
    });
  });

  it('with a bit turned is refused: the check at its end fails', async () => {
    const damaged = packed.slice();
    damaged[packed.length - 6] ^= 1;
    await expect(readScan(damaged)).rejects.toMatchObject({ code: 'bad-compression' });
  });

  it('cut short gives its whole points where that is asked for, and says what was lost', async () => {
    const read = await readScan(packed.subarray(0, packed.length / 2), { keepWhole: true });
    expect(read.positions).toEqual(scan.positions.subarray(0, read.positions.length));
    expect(read.positions.length).toBeGreaterThan(10_000);
    expect(read.source.warnings.map((w) => w.code)).toEqual(['bad-compression', 'cut-short']);
  });

  it('a bomb of zeros is no scan, and not unpacked to find out', async () => {
    const bomb = zip(new Uint8Array(200_000_000));
    const before = process.memoryUsage().rss;
    await expect(readScan(bomb)).rejects.toMatchObject({ code: 'not-a-scan' });
    expect(process.memoryUsage().rss - before).toBeLessThan(100e6);
  });

  it('is held to a hundred times its packed size, as it comes, or to what the caller allows', async () => {
    // A sound list of points, one row over and over: it packs 900-fold.
    const rows = '0.25 1.5 0\n'.repeat(8_000_000);
    const bomb = zip(new TextEncoder().encode(rows));
    const error = await readScan(bomb, { name: 'scan.xyz.gz' }).catch((e: unknown) => e);
    expect(error).toMatchObject({ code: 'too-large' });
    expect((error as Error).message).toMatch(
      /^scan\.xyz\.gz: compressed, [\d,]+ bytes that unpack to 67 MB or more: 100 times the size and more, which no scan does\./,
    );
    expect((await readScan(bomb, { unpackedMost: 100e6 })).positions.length).toBe(24_000_000);
    await expect(readScan(bomb, { unpackedMost: 1e6 })).rejects.toMatchObject({
      message: expect.stringMatching(/more than the 1\.0 MB allowed/),
    });
  });

  it('the command takes what is allowed in megabytes', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'fettle-gzip-'));
    const path = join(folder, 'scan.xyz.gz');
    writeFileSync(
      path,
      gzipSync(Array.from({ length: 30_000 }, (_, i) => `${i % 200} ${Math.floor(i / 200)} 0\n`).join('')),
    );
    const said: string[] = [];
    const spies = [process.stdout, process.stderr].map((stream) =>
      vi.spyOn(stream, 'write').mockImplementation((text) => said.push(String(text)) > 0),
    );
    const codes = [];
    for (const most of ['0.2', '1', 'none']) codes.push(await main(['info', path, '--unpacked-most', most]));
    for (const spy of spies) spy.mockRestore();
    rmSync(folder, { recursive: true });
    expect(codes).toEqual([2, 0, 2]);
    expect(said.join('')).toMatch(/more than the 0\.2 MB allowed/);
    expect(said.join('')).toMatch(/a number of megabytes, more than 0/);
  });
});
