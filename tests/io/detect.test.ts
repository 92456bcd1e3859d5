import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, inPieces, numbers, stl } from './bytes.js';

const all = 'Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.';
const facets = Array.from({ length: 200 }, (_, i) => [i, 0, 0, i + 1, 0, 0, i + 1, 1, 0.5]);

describe('a binary STL', () => {
  it.each(['ply', 'ply\n', 'ply scan of a pump', 'OFF', 'PK\x03\x04', '# .PCD', 'glTF'])(
    "whose header begins '%s' is one all the same",
    async (header) => {
      const bytes = stl(facets, facets.length, header);
      expect((await readScan(bytes)).source.format).toBe('stl');
    },
  );

  it('whose header begins with ply is one in a stream of unknown size too', async () => {
    expect((await readScan(inPieces(stl(facets, facets.length, 'ply scan'), 999))).source.format).toBe('stl');
  });
});

describe('what is no scan is called so, with all that is read', () => {
  const noise = (length: number, seed: number) => {
    let s = seed;
    return Uint8Array.from({ length }, () => {
      s = (s * 16807) % 2147483647;
      return s & 255;
    });
  };
  it.each([
    [
      'a picture with zeros where facets would be',
      file(Uint8Array.of(0xff, 0xd8, 0xff, 0xe1), new Uint8Array(3000), numbers('float32', [1, 2, 3]), noise(4000, 5)),
      /\(a picture\)/,
    ],
    [
      'pointers, counts and zeros',
      file(
        'MODEL-v300',
        new Uint8Array(90),
        ...Array.from({ length: 400 }, (_, i) =>
          file(numbers('uint32', [i, 0, 0x7fff0000 + i, 0, 1]), new Uint8Array(32)),
        ),
      ),
      /binary, beginning 4d 4f 44 45/,
    ],
    [
      'zeros with a few numbers',
      file(new Uint8Array(2000), numbers('float32', [1, 2, 3, 4]), new Uint8Array(4000)),
      /binary, beginning 00 00/,
    ],
    ['E57', file('ASTM-E57', new Uint8Array(6000)), /\(E57, ASTM E2807, which is not read\)/],
    ['LAS', file('LASF', new Uint8Array(6000)), /\(LAS or LAZ, which are not read\)/],
  ])('%s', async (_, bytes, message) => {
    for (const source of [bytes, inPieces(bytes, 777)]) {
      const error = (await readScan(source, { name: 'x' }).catch((e: unknown) => e)) as Error;
      expect(error).toMatchObject({ code: 'not-a-scan' });
      expect(error.message).toMatch(message);
      expect(error.message.endsWith(all)).toBe(true);
    }
  });
});

it('PLY may name its coordinates X, Y and Z', async () => {
  const scan = await readScan(
    file(
      'ply\nformat ascii 1.0\nelement vertex 1\nproperty float X\nproperty float Y\nproperty float Z\nproperty uchar Red\nproperty uchar Green\nproperty uchar Blue\nend_header\n1 2 3 4 5 6\n',
    ),
  );
  expect([...scan.positions]).toEqual([1, 2, 3]);
  expect([...scan.colors!]).toEqual([4, 5, 6]);
});

describe('lengths that doubles do not hold', () => {
  it.each([
    ['one point, in meters', '1.7e307 1.7e307 1.7e307\n'.repeat(2), 'm'],
    ['points at both ends', '1.7e308 0 0\n-1.7e308 0 0\n', 'mm'],
  ] as const)('%s: refused', async (_, text, units) => {
    await expect(readScan(file(text), { units })).rejects.toMatchObject({ code: 'too-far' });
  });
});
