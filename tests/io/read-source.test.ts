import { Readable } from 'node:stream';
import { type ByteSource, type ReadScan, readScan, writeObj, writePly, writeStl } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { ObjReader } from '../../packages/io/src/read/obj.js';
import { PlyReader } from '../../packages/io/src/read/ply.js';
import type { ReadContext } from '../../packages/io/src/read/reader.js';
import { StlBinaryReader } from '../../packages/io/src/read/stl-binary.js';
import { StlTextReader } from '../../packages/io/src/read/stl-text.js';
import { file, inPieces, numbers, stl } from './bytes.js';

const textPly = file(
  'ply\r\nformat ascii 1.0\r\ncomment two triangles\r\nelement vertex 4\r\nproperty float x\r\nproperty float y\r\n',
  'property float z\r\nproperty uchar red\r\nproperty uchar green\r\nproperty uchar blue\r\nelement face 1\r\n',
  'property list uchar int vertex_indices\r\nend_header\r\n0 0 0 1 2 3\r\n1.5 0 0 4 5 6\r\n1 1e0 0 7 8 9\r\n-0.5 1 0 0 0 0\r\n4 0 1 2 3\r\n',
);
const binaryPly = (little: boolean) =>
  file(
    `ply\nformat binary_${little ? 'little' : 'big'}_endian 1.0\nelement vertex 4\nproperty uchar tag\nproperty double x\n`,
    'property float y\nproperty short z\nelement face 2\nproperty list uchar int vertex_indices\nend_header\n',
    ...[0, 1, 2, 3].flatMap((v) => [
      numbers('uint8', [v]),
      numbers('float64', [v / 3], little),
      numbers('float32', [v * v], little),
      numbers('int16', [v], little),
    ]),
    numbers('uint8', [3]),
    numbers('int32', [0, 1, 2], little),
    numbers('uint8', [4]),
    numbers('int32', [0, 1, 2, 3], little),
  );
const obj = file(
  '# units mm\nv 0 0 0 0.1 0.2 0.3\nv 1 0 0\nv 1 1 \\\r\n0\r\nv -1.25e-1 1 0\nvn 0 0 1\nvt 0 0\nf 1/1/1 2//1 3\ng lever\nf -4 -2 -1 # last\nf 1 2 3 4\n',
);
const binaryStl = stl([
  [0, 0, 0, 1, 0, 0, 1, 1, 0],
  [0, 0, 0, 1, 1, 0, 0, 1, 0],
]);
const textStl = file(
  'solid plate of 3\nfacet normal 0 0 1\n outer loop\n  vertex 0 0 0\n  vertex 1.5 0 0\n  vertex 1 1 -1e-3\n endloop\nendfacet\nendsolid plate of 3\n',
);

const contents = ({ positions, triangles, normals, colors, source }: ReadScan) => ({
  positions,
  triangles,
  normals,
  colors,
  source,
});

describe('a file may be cut into pieces anywhere', () => {
  it.each([
    ['text PLY', textPly],
    ['little-endian PLY', binaryPly(true)],
    ['big-endian PLY', binaryPly(false)],
    ['OBJ', obj],
    ['binary STL', binaryStl],
    ['text STL', textStl],
  ])('%s: in two at every byte, and into pieces of 1 to 9 bytes', async (_, bytes) => {
    const whole = contents(await readScan(bytes));
    for (let at = 0; at <= bytes.length; at++) {
      const pieces = [bytes.subarray(0, at), bytes.subarray(at)];
      expect(contents(await readScan(pieces))).toEqual(whole);
    }
    for (let size = 1; size < 10; size++) expect(contents(await readScan(inPieces(bytes, size)))).toEqual(whole);
  });

  it.each([
    ['text PLY', textPly, (c: ReadContext, n: number) => new PlyReader(c, n)],
    ['little-endian PLY', binaryPly(true), (c: ReadContext, n: number) => new PlyReader(c, n)],
    ['OBJ', obj, (c: ReadContext, n: number) => new ObjReader(c, n)],
    ['binary STL', binaryStl, (c: ReadContext, n: number) => new StlBinaryReader(c, n)],
    ['text STL', textStl, (c: ReadContext, n: number) => new StlTextReader(c, n)],
  ])('%s: windows of any size show parsers the same', (_, bytes, make) => {
    const read = (capacity: number) => {
      const reader = make({ name: 'scan', keepWhole: false, warnings: [] }, capacity);
      reader.push(bytes);
      return reader.end();
    };
    const whole = read(1 << 16);
    for (let capacity = 8; capacity < 200; capacity++) expect(read(capacity)).toEqual(whole);
  });

  it('a piece may be overwritten once the next is asked for', async () => {
    async function* reused() {
      const piece = new Uint8Array(7);
      for (let at = 0; at < obj.length; at += 7) {
        piece.set(obj.subarray(at, at + 7));
        yield piece.subarray(0, Math.min(7, obj.length - at));
        piece.fill(0xff);
      }
    }
    expect(contents(await readScan(reused()))).toEqual(contents(await readScan(obj)));
  });
});

describe('a scan is read from', () => {
  const sources: readonly (readonly [string, () => ByteSource])[] = [
    ['a Uint8Array', () => obj],
    ['part of one', () => file('xxx', obj, 'xxx').subarray(3, 3 + obj.length)],
    ['a Buffer', () => Buffer.from(obj)],
    ['an ArrayBuffer', () => obj.slice().buffer],
    ['a Blob', () => new Blob([obj.slice()])],
    ['a ReadableStream', () => new Blob([obj.slice()]).stream()],
    ['a Node stream', () => Readable.from([Buffer.from(obj.subarray(0, 50)), Buffer.from(obj.subarray(50))])],
    ['what a writer makes', () => [obj.subarray(0, 10), obj.subarray(10)]],
  ];
  it.each(sources)('%s', async (_, make) => {
    expect(contents(await readScan(make()))).toEqual(contents(await readScan(obj)));
  });

  it('the name opens every message: as told, of the file, or just scan', async () => {
    expect((await readScan(obj, { name: 'pump.obj' })).name).toBe('pump.obj');
    expect((await readScan(new File([obj.slice()], 'foot.obj'))).name).toBe('foot.obj');
    expect((await readScan(obj)).name).toBe('scan');
  });
});

describe('progress', () => {
  it('is told in bytes after every piece, with the total where it is known', async () => {
    const seen: (readonly [number, number | undefined])[] = [];
    const onProgress = (bytes: number, total?: number) => seen.push([bytes, total]);
    await readScan(inPieces(obj, 100), { onProgress });
    expect(seen).toEqual([100, obj.length].map((bytes) => [bytes, undefined]));
    seen.length = 0;
    await readScan(inPieces(obj, 100), { onProgress, size: obj.length });
    expect(seen.at(-1)).toEqual([obj.length, obj.length]);
    seen.length = 0;
    await readScan(obj, { onProgress });
    expect(seen).toEqual([[obj.length, obj.length]]);
  });
});

describe('reading can be called off', () => {
  it('between pieces, with the reason given; the stream is let go', async () => {
    const controller = new AbortController();
    let canceled: unknown;
    const stream = new ReadableStream<Uint8Array>({
      pull(c) {
        c.enqueue(file('v 1 2 3\n'.repeat(1000)));
      },
      cancel(reason) {
        canceled = reason ?? 'canceled';
      },
    });
    let pieces = 0;
    const reading = readScan(stream, {
      signal: controller.signal,
      onProgress: () => ++pieces === 5 && controller.abort(new Error('changed my mind')),
    });
    await expect(reading).rejects.toThrow('changed my mind');
    expect(canceled).toBeDefined();
    expect(pieces).toBe(5);
  });

  it('before it begins', async () => {
    await expect(readScan(obj, { signal: AbortSignal.abort(new Error('no')) })).rejects.toThrow('no');
  });

  it('an iterator is returned when the file turns out bad', async () => {
    let isReturned = false;
    async function* endless() {
      try {
        for (;;) yield file('v 1 2 x\n'.repeat(100_000));
      } finally {
        isReturned = true;
      }
    }
    await expect(readScan(endless())).rejects.toMatchObject({ code: 'bad-number' });
    expect(isReturned).toBe(true);
  });
});

describe('units', () => {
  const inch = file('v 1 2 3\nv 2 3 4\n');
  it.each([
    ['mm', 1],
    ['cm', 10],
    ['m', 1000],
    ['inch', 25.4],
  ] as const)('a file in %s comes out in mm', async (units, scale) => {
    const scan = await readScan(inch, { units });
    expect([...scan.positions]).toEqual([1, 2, 3, 2, 3, 4].map((c) => c * scale));
    expect(scan.units).toBe('mm');
    expect(scan.source).toMatchObject({ unit: units, unitFrom: 'caller' });
  });

  it('a file that does not say is taken as mm, and a warning says so', async () => {
    const scan = await readScan(inch, { name: 'foot.obj' });
    expect(scan.source).toMatchObject({ unit: 'mm', unitFrom: 'assumed' });
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'foot.obj: the file does not say its unit of length: mm assumed.',
    ]);
  });

  it.each(['# units mm', '# units: mm', '# Units = millimeters', '# File unit = millimetres'])(
    'a comment may say: %s',
    async (comment) => {
      const scan = await readScan(file(comment, '\nv 1 2 3\nv 2 3 4\n'));
      expect(scan.source).toMatchObject({ unit: 'mm', unitFrom: 'file' });
    },
  );

  it('what the caller says holds against the file, with a warning', async () => {
    const scan = await readScan(file('# units mm\n', inch), { units: 'inch', name: 'foot.obj' });
    expect(scan.positions[0]).toBe(25.4);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'foot.obj: the file says it is in mm; read in inch as asked.',
    ]);
  });

  it('an extent nobody believes is named, with the likely units', async () => {
    const scan = await readScan(file('v 0 0 0\nv 0.3 0.2 0.1\n'), { name: 'pump.obj', units: 'mm' });
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'pump.obj: read in mm the scan measures 0.3 × 0.2 × 0.1 mm, hard to believe. Its numbers may be m (300 mm): say which unit it is in, or export it again in mm.',
    ]);
    const large = await readScan(file('v 0 0 0\nv 300 200 100\n'), { name: 'pump.obj', units: 'm' });
    expect(large.source.warnings.map((w) => w.message)).toEqual([
      'pump.obj: read in m the scan measures 300,000 × 200,000 × 100,000 mm, hard to believe. Its numbers may be mm (300 mm), cm (3,000 mm), inch (7,620 mm): say which unit it is in, or export it again in mm.',
    ]);
  });

  it('an unknown unit is refused', async () => {
    await expect(readScan(inch, { name: 'foot.obj', units: 'yard' as 'mm' })).rejects.toMatchObject({
      code: 'bad-units',
      message: "foot.obj: unknown unit 'yard'; known are mm, cm, m, inch.",
    });
  });
});

describe('the format is told by content', () => {
  it.each([
    ['PLY', binaryPly(true), 'ply', 'binary'],
    ['big-endian PLY', binaryPly(false), 'ply', 'binary big-endian'],
    ['text PLY', textPly, 'ply', 'text'],
    ['OBJ', obj, 'obj', 'text'],
    ['OBJ of materials and groups first', file('mtllib a.mtl\no a\nusemtl b\nv 1 2 3\n'), 'obj', 'text'],
    ['OBJ behind a long comment', file(`${'# ---\n'.repeat(20_000)}v 1 2 3\n`), 'obj', 'text'],
    ['binary STL', binaryStl, 'stl', 'binary'],
    ['binary STL of a stream that begins solid', stl([[0, 0, 0, 1, 0, 0, 1, 1, 0]], 1, 'solid'), 'stl', 'binary'],
    ['text STL', textStl, 'stl', 'text'],
    ['text PLY behind the mark of UTF-8', file('\ufeff', textPly), 'ply', 'text'],
    ['text STL behind it', file('\ufeff', textStl), 'stl', 'text'],
    ['a list of points', file('1 2 3\n4 5 6\n'), 'xyz', 'text'],
  ])('%s', async (_, bytes, format, encoding) => {
    // In pieces and without a size: no name, no length to go by.
    expect((await readScan(inPieces(bytes, 1000))).source).toMatchObject({ format, encoding, bytes: bytes.length });
  });
});

it('what is written is read, without a file between', async () => {
  const scan = await readScan(binaryPly(true));
  for (const write of [writePly, writeObj, writeStl]) {
    expect((await readScan(write(scan))).triangles).toHaveLength(scan.triangles!.length);
  }
});
