import type { Scan } from '@fettle/geom';
import { bytesOf, readScan, write3mf, writeObj, writePly, writeStl } from '@fettle/io';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const decode = (bytes: Uint8Array): string => new TextDecoder('latin1').decode(bytes);

/** Any scan: doubles of any size, zeros of either sign, with and without triangles, normals and colors. */
const anyScan: fc.Arbitrary<Scan> = fc
  .record({
    points: fc.integer({ min: 1, max: 40 }),
    has: fc.record({ triangles: fc.boolean(), normals: fc.boolean(), colors: fc.boolean() }),
    seed: fc.infiniteStream(fc.double({ min: -1e30, max: 1e30, noNaN: true })),
    index: fc.infiniteStream(fc.nat(1 << 30)),
  })
  .map(({ points, has, seed, index }) => {
    const next = () => seed.next().value as number;
    const below = (n: number) => (index.next().value as number) % n;
    const unit = () => {
      const [a, b] = [below(1000), below(1000)];
      return [Math.cos(a) * Math.cos(b), Math.sin(a) * Math.cos(b), Math.sin(b)];
    };
    const triangles = Uint32Array.from({ length: 3 * (1 + below(60)) }, () => below(points));
    return {
      name: 'scan',
      units: 'mm' as const,
      positions: Float64Array.from({ length: 3 * points }, next),
      ...(has.triangles && { triangles }),
      ...(has.normals && { normals: Float32Array.from(Array.from({ length: points }, unit).flat()) }),
      ...(has.colors && { colors: Uint8Array.from({ length: 3 * points }, () => below(256)) }),
    };
  });

const contentsOf = ({ positions, triangles, normals, colors }: Scan) => ({ positions, triangles, normals, colors });

describe('what is written reads back equal to the last digit the format keeps', () => {
  it('PLY keeps everything', () =>
    fc.assert(
      fc.asyncProperty(anyScan, async (scan) => {
        expect(contentsOf(await readScan(writePly(scan)))).toEqual(contentsOf(scan));
      }),
      { numRuns: 300, seed: 1 },
    ));

  it('OBJ keeps everything', () =>
    fc.assert(
      fc.asyncProperty(anyScan, async (scan) => {
        expect(contentsOf(await readScan(writeObj(scan)))).toEqual(contentsOf(scan));
      }),
      { numRuns: 300, seed: 2 },
    ));

  it('STL keeps the corners of its triangles in single precision', () =>
    fc.assert(
      fc.asyncProperty(
        anyScan.filter((scan) => scan.triangles !== undefined),
        async (scan) => {
          const back = await readScan(writeStl(scan));
          expect(back.triangles).toHaveLength(scan.triangles!.length);
          scan.triangles!.forEach((v, i) => {
            for (let k = 0; k < 3; k++) {
              // + 0: a zero has no sign left.
              expect(back.positions[3 * back.triangles![i] + k]).toBe(Math.fround(scan.positions[3 * v + k]) + 0);
            }
          });
        },
      ),
      { numRuns: 300, seed: 3 },
    ));

  it('all of them say that they are in mm', async () => {
    const scan = fc.sample(
      anyScan.filter((s) => s.triangles !== undefined),
      { numRuns: 1, seed: 5 },
    )[0];
    for (const write of [writePly, writeObj, writeStl]) {
      expect((await readScan(write(scan))).source).toMatchObject({ unit: 'mm', unitFrom: 'file' });
    }
  });
});

const corner: Scan = {
  name: 'corner',
  units: 'mm',
  positions: Float64Array.of(0, 0, 0, 1.5, 0, 0, 0, 0.1, 0),
  triangles: Uint32Array.of(0, 1, 2),
};

describe('the files', () => {
  it('PLY: header, comments a line each', () => {
    const text = decode(bytesOf(writePly(corner, { comments: ['by hand\nfrom two views'] })));
    expect(text.slice(0, text.indexOf('end_header'))).toBe(
      [
        'ply',
        'format binary_little_endian 1.0',
        'comment units mm',
        'comment by hand',
        'comment from two views',
        'element vertex 3',
        'property double x',
        'property double y',
        'property double z',
        'element face 1',
        'property list uchar int vertex_indices',
        '',
      ].join('\n'),
    );
  });

  it('OBJ: the fewest digits that keep a double', () => {
    const scan = {
      ...corner,
      normals: Float32Array.of(0, 0, 1, 0.6, 0, 0.8, 0, 0, -1),
      colors: Uint8Array.of(0, 128, 255, 1, 2, 3, 4, 5, 6),
    };
    expect(decode(bytesOf(writeObj(scan)))).toBe(
      [
        '# units mm',
        'v 0 0 0 0 0.502 1',
        'v 1.5 0 0 0.0039 0.0078 0.0118',
        'v 0 0.1 0 0.0157 0.0196 0.0235',
        'vn 0 0 1',
        'vn 0.6 0 0.8',
        'vn 0 0 -1',
        'f 1//1 2//2 3//3',
        '',
      ].join('\n'),
    );
  });

  it('STL: 84 + 50·n bytes, unit facet normals, zero for a triangle without area', () => {
    const bytes = bytesOf(writeStl({ ...corner, triangles: Uint32Array.of(0, 1, 2, 0, 1, 1) }));
    const view = new DataView(bytes.buffer);
    expect(bytes).toHaveLength(184);
    expect(view.getUint32(80, true)).toBe(2);
    expect([84, 88, 92].map((at) => view.getFloat32(at, true))).toEqual([0, 0, 1]);
    expect([134, 138, 142].map((at) => view.getFloat32(at, true))).toEqual([0, 0, 0]);
  });

  it('come in pieces, which can be gone through twice and add up to the same', () => {
    const many = { ...corner, positions: new Float64Array(300_000), triangles: new Uint32Array(300_000) };
    for (const write of [writePly, writeObj, writeStl]) {
      const chunks = write(many);
      expect(Array.from(chunks).length).toBeGreaterThan(3);
      expect(Buffer.compare(bytesOf(chunks), bytesOf(chunks))).toBe(0);
    }
  });
});

describe('what no file should hold is refused before a byte is written', () => {
  it.each([
    [writePly, { positions: new Float64Array(0) }, 'no-points', 'corner: not written: it has no points.'],
    [
      writePly,
      { positions: Float64Array.of(0, 0, 0, 1, Number.NaN, 0) },
      'not-finite',
      'corner: not written: point 1 has a coordinate that is no number.',
    ],
    [
      writeObj,
      { triangles: Uint32Array.of(0, 1, 9) },
      'index-out-of-range',
      'corner: not written: triangle 0 names point 9 of 3.',
    ],
    [writeObj, { normals: new Float32Array(6) }, 'wrong-count', 'corner: not written: it has 3 points and 2 normals.'],
    [writePly, { colors: new Uint8Array(12) }, 'wrong-count', 'corner: not written: it has 3 points and 4 colors.'],
    [
      writePly,
      { triangles: new Uint32Array(4) },
      'wrong-count',
      'corner: not written: its points and triangles need three numbers each.',
    ],
    [
      writeStl,
      { triangles: undefined },
      'no-triangles',
      'corner: not written: STL holds triangles, and this is a cloud. Write PLY or OBJ.',
    ],
    [
      writeStl,
      { positions: Float64Array.of(0, 0, 0, 1e300, 0, 0, 0, 1, 0) },
      'too-large',
      'corner: not written: 1 triangles or coordinates beyond what STL holds. Write PLY.',
    ],
  ] as const)('%o %o', (write, change, code, message) => {
    const scan = { ...corner, ...change } as Scan;
    expect(() => write(scan)).toThrow(expect.objectContaining({ code, message }));
  });

  it('a header of STL that would make readers take it for text', () => {
    expect(() => writeStl(corner, { header: 'Solid corner' })).toThrow(expect.objectContaining({ code: 'bad-header' }));
  });
});

it('a scan without a name, as a script may make one, is called a scan in messages', () => {
  const cloud = { positions: Float64Array.of(0, 0, 0), units: 'mm' } as Scan;
  expect(() => writeStl(cloud)).toThrow(/^scan: not written: STL holds triangles/);
  expect(() => write3mf(cloud)).toThrow(/^scan: not written: 3MF holds meshes/);
  expect(() => writePly({ ...cloud, positions: Float64Array.of(Number.NaN, 0, 0) })).toThrow(
    /^scan: not written: point 0/,
  );
});
