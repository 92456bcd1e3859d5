import { gzipSync } from 'node:zlib';
import { bytesOf, readScan, writePly } from '@fettle/io';
import { describe, expect, it } from 'vitest';
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
});
