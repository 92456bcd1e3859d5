import { readScan, write3mf } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, inPieces } from './bytes.js';
import { type ZipPart, zipFile } from './zip-file.js';

const core = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const relations = (target: string) =>
  `<?xml version="1.0"?><Relationships xmlns="x"><Relationship Target="${target}" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>`;
/** A right triangle with its corner at the origin. */
const mesh = `<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0.5"/></vertices>
  <triangles><triangle v1="0" v2="1" v3="2" pid="7"/></triangles></mesh>`;
const model = (resources: string, build: string, unit = ' unit="millimeter"') =>
  `<?xml version="1.0" encoding="UTF-8"?>\n<model${unit} xml:lang="en-US" xmlns="${core}"><resources>${resources}</resources><build>${build}</build></model>`;
const archive = (text: string, ...more: readonly ZipPart[]) =>
  zipFile([
    { name: '_rels/.rels', content: relations('/3D/3dmodel.model') },
    { name: '3D/3dmodel.model', content: text },
    ...more,
  ]);
const one = (unit?: string) => archive(model(`<object id="1">${mesh}</object>`, '<item objectid="1"/>', unit));
const read = (bytes: Uint8Array) => readScan(bytes, { name: 'part.3mf' });
const rows = (positions: Float64Array) =>
  Array.from({ length: positions.length / 3 }, (_, i) => [...positions.subarray(3 * i, 3 * i + 3)]);

describe('a 3MF file', () => {
  it('gives its mesh, in millimeters as it says', async () => {
    const scan = await read(one());
    expect(rows(scan.positions)).toEqual([
      [0, 0, 0],
      [1, 0, 0],
      [0, 1, 0.5],
    ]);
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
    expect(scan.source).toMatchObject({ format: '3mf', unit: 'mm', unitFrom: 'file' });
  });

  it.each([
    ['micron', 0.001],
    ['millimeter', 1],
    ['centimeter', 10],
    ['inch', 25.4],
    ['foot', 304.8],
    ['meter', 1000],
  ])('in %s', async (unit, scale) => {
    const { positions } = await read(one(` unit="${unit}"`));
    expect(positions[3]).toBeCloseTo(scale, 12);
  });

  it('is in millimeters where it does not say: the standard', async () => {
    expect((await read(one(''))).source).toMatchObject({ unit: 'mm', unitFrom: 'file' });
  });

  it('may come in pieces, stored or packed, with a comment at its end, under a name of its own', async () => {
    const text = model(`<object id="1">${mesh}</object>`, '<item objectid="1"/>');
    const bytes = zipFile(
      [
        { name: 'Scan/Part.Model', content: text, isStored: true },
        { name: '_rels/.rels', content: relations('/scan/part.model') },
      ],
      'made by hand',
    );
    const { source, ...scan } = await readScan(inPieces(bytes, 7), { name: 'part.3mf' });
    expect(scan).toEqual((({ source: _, ...rest }) => rest)(await read(one())));
    expect(source.bytes).toBe(bytes.length);
  });

  it('is XML: quotes of either kind, blanks, comments, attributes in any order', async () => {
    const text = model(
      `<!-- <object id="9"> --><object\n id='1' ><mesh ><vertices>
        <vertex z = " 3 " y='2' x="1"></vertex><!-- <vertex/> --><vertex x="4" y="5" z="6" /><vertex x="7" y="8" z="1e1"/>
      </vertices><triangles><triangle v3="0" p1=">" v2="1" v1="2"/></triangles></mesh></object>`,
      '<item objectid="1" partnumber="a &amp; b"/>',
    );
    const scan = await read(archive(text));
    expect(rows(scan.positions)).toEqual([
      [1, 2, 3],
      [4, 5, 6],
      [7, 8, 10],
    ]);
    expect([...scan.triangles!]).toEqual([2, 1, 0]);
  });
});

describe('what the build places', () => {
  const place = (transform: string) => `<item objectid="1" transform="${transform}"/>`;
  const object = `<object id="1">${mesh}</object>`;

  it('is placed by its transform: points are rows before the matrix', async () => {
    // A quarter turn about z, then 10, 20, 30 along.
    const scan = await read(archive(model(object, place('0 1 0 -1 0 0 0 0 1 10 20 30'))));
    expect(rows(scan.positions)).toEqual([
      [10, 20, 30],
      [10, 21, 30],
      [9, 20, 30.5],
    ]);
  });

  it('is placed as often as it is named, and left out where it is not', async () => {
    const scan = await read(
      archive(
        model(
          `${object}<object id="2">${mesh}</object>`,
          place('1 0 0 0 1 0 0 0 1 0 0 0') + place('1 0 0 0 1 0 0 0 1 5 0 0'),
        ),
      ),
    );
    expect(rows(scan.positions).map(([x]) => x)).toEqual([0, 1, 0, 5, 6, 5]);
    expect([...scan.triangles!]).toEqual([0, 1, 2, 3, 4, 5]);
  });

  it('a mirrored object keeps its outside outside', async () => {
    const scan = await read(archive(model(object, place('-1 0 0 0 1 0 0 0 1 0 0 0'))));
    expect([...scan.triangles!]).toEqual([0, 2, 1]);
  });

  it('components place objects in objects, the inner transform first', async () => {
    const scan = await read(
      archive(
        model(
          `${object}<object id="2"><components><component objectid="1" transform="2 0 0 0 2 0 0 0 2 0 0 0"/><component objectid="1"/></components></object>`,
          '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 100 0 0"/>',
        ),
      ),
    );
    expect(rows(scan.positions).map(([x]) => x)).toEqual([100, 102, 100, 100, 101, 100]);
  });

  it('objects may stand in model parts of their own', async () => {
    const scan = await read(
      archive(
        model(
          '<object id="2"><components><component p:path="/3D/Objects/a.model" objectid="1"/></components></object>',
          '<item objectid="2"/>',
        ),
        { name: '3D/Objects/a.model', content: model(object, '') },
      ),
    );
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
  });

  it('without a build all objects are taken, components once, with a warning', async () => {
    const scan = await read(
      archive(model(`${object}<object id="2"><components><component objectid="1"/></components></object>`, '')),
    );
    expect(scan.positions).toHaveLength(9);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'part.3mf: its build places nothing: all its objects taken as they stand.',
    ]);
  });
});

describe('a bad file is refused in words', () => {
  const object = `<object id="1">${mesh}</object>`;
  const item = '<item objectid="1"/>';
  const inModel = (text: string) => `model '3D/3dmodel.model': ${text}. Export it again.`;
  const good = model(object, item);
  /** Eighty levels of ten: 10⁸⁰ triangles in a few kilobytes. */
  const laughs = Array.from(
    { length: 80 },
    (_, i) =>
      `<object id="${i + 2}"><components>${`<component objectid="${i + 1}"/>`.repeat(10)}</components></object>`,
  ).join('');
  const deep = Array.from(
    { length: 500 },
    (_, i) => `<object id="${i + 2}"><components><component objectid="${i + 1}"/></components></object>`,
  ).join('');

  it.each<readonly [string, Uint8Array, string, string | RegExp]>([
    [
      'cut short',
      one().subarray(0, 300),
      'cut-short',
      'a zip archive without the directory that ends it: cut short after 300 bytes. Export it again.',
    ],
    [
      'another archive',
      zipFile([{ name: 'letter.txt', content: 'Dear customer' }]),
      'bad-model',
      "a zip archive without the model '3d/3dmodel.model' of a 3MF file; it holds letter.txt. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.",
    ],
    ['an empty archive', zipFile([]), 'bad-model', /it holds nothing/],
    [
      'encrypted',
      zipFile([{ name: '3D/3dmodel.model', content: good, flags: 1 }]),
      'bad-archive',
      "a zip archive that is damaged: '3D/3dmodel.model' is encrypted. Export it again.",
    ],
    [
      'packed otherwise',
      zipFile([{ name: '3D/3dmodel.model', content: good, method: 12 }]),
      'bad-archive',
      /packed by a method other than deflate/,
    ],
    [
      'with a check that does not hold',
      zipFile([{ name: '3D/3dmodel.model', content: good, check: 1 }]),
      'bad-archive',
      "'3D/3dmodel.model' in it is damaged: its check (CRC-32) does not hold. Export it again.",
    ],
    [
      'longer than it says',
      zipFile([{ name: '3D/3dmodel.model', content: good, size: 10 }]),
      'bad-archive',
      /it unpacks to more than the 10 bytes it should/,
    ],
    [
      'shorter than it says',
      zipFile([{ name: '3D/3dmodel.model', content: good, size: 9999 }]),
      'bad-archive',
      /it unpacks to \d+ of 9,999 bytes/,
    ],
    [
      'beginning elsewhere',
      zipFile([{ name: '3D/3dmodel.model', content: good, at: 5 }]),
      'bad-archive',
      /where '3D\/3dmodel.model' should begin/,
    ],
    [
      'that is no deflate',
      zipFile([{ name: '3D/3dmodel.model', content: good, isStored: true, method: 8 }]),
      'bad-archive',
      /in it is damaged/,
    ],
    [
      'a bomb',
      zipFile([{ name: '3D/3dmodel.model', content: new Uint8Array(1 << 27) }]),
      'too-large',
      /compressed, 130,590 bytes that unpack to 134 MB or more: 100 times the size and more, which no scan does/,
    ],
    [
      'of 10⁸⁰ triangles',
      archive(model(object + laughs, '<item objectid="81"/>')),
      'too-large',
      /place an object within objects so often/,
    ],
    [
      'nested 500 deep',
      archive(model(object + deep, '<item objectid="501"/>')),
      'bad-model',
      /nested more than 100 deep/,
    ],
    [
      'an object in itself',
      archive(
        model(
          '<object id="1"><components><component objectid="2"/></components></object><object id="2"><components><component objectid="1"/></components></object>',
          item,
        ),
      ),
      'bad-model',
      'object 1 has itself as a component. Export it again.',
    ],
    [
      'an object that is missing',
      archive(model(object, '<item objectid="9"/>')),
      'bad-model',
      "object 9 is placed and is not in '3d/3dmodel.model'. Export it again.",
    ],
    [
      'a part that is missing',
      archive(
        model(
          '<object id="2"><components><component p:path="/../../etc/passwd" objectid="1"/></components></object>',
          '<item objectid="2"/>',
        ),
      ),
      'bad-model',
      /without the model 'etc\/passwd' of a 3MF file/,
    ],
    ['two objects of a name', archive(model(object + object, item)), 'bad-model', inModel('two objects are called 1')],
    [
      'a document type',
      archive(`<!DOCTYPE lolz [<!ENTITY lol "lol">]>${good}`),
      'bad-model',
      'its model declares a document type, which models have no use for. Export it again.',
    ],
    ['XML cut short', archive(good.replace('</model>', '')), 'cut-short', inModel("it ends without '</model>'")],
    ['a vertex without z', archive(good.replace(' z="0.5"', '')), 'bad-model', inModel('object 1, vertex 2 has no z')],
    [
      'a word for a number',
      archive(good.replace('"0.5"', '"half"')),
      'bad-number',
      inModel("object 1, vertex 2 holds 'half' where a number belongs"),
    ],
    [
      'two numbers for one',
      archive(good.replace('"0.5"', '"0.5 1"')),
      'bad-number',
      inModel("object 1, vertex 2 holds '0.5 1' where a number belongs"),
    ],
    [
      'a corner beyond',
      archive(good.replace('v3="2"', 'v3="3"')),
      'index-out-of-range',
      inModel('object 1, triangle 0 names vertex 3 of 3, counted from 0'),
    ],
    [
      'a corner below',
      archive(good.replace('v3="2"', 'v3="-2"')),
      'index-out-of-range',
      inModel('object 1, triangle 0 names vertex -2'),
    ],
    [
      'a transform of eleven numbers',
      archive(model(object, '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0"/>')),
      'bad-number',
      inModel("the transform '1 0 0 0 1 0 0 0 1 0 0' should be twelve numbers"),
    ],
    [
      'an unknown unit',
      one(' unit="cubit"'),
      'bad-model',
      "unknown unit 'cubit'; the standard has micron, millimeter, centimeter, inch, foot, meter. Export it again.",
    ],
    [
      'no points',
      archive(model('<object id="1"/>', item)),
      'no-points',
      'the file holds no points. Export the scan again.',
    ],
  ])('%s', async (_, bytes, code, message) => {
    const error = await read(bytes).then(
      () => undefined,
      (e: unknown) => e as Error & { code: string },
    );
    expect(error).toMatchObject({ name: 'FettleError', code });
    if (typeof message === 'string') expect(error!.message).toBe(`part.3mf: ${message}`);
    else expect(error!.message).toMatch(message);
  });

  it('every turned bit of a packed file is noticed', async () => {
    const bytes = one();
    const { positions, triangles } = await read(bytes);
    for (let bit = 0; bit < 8 * bytes.length; bit += 13) {
      const damaged = bytes.slice();
      damaged[bit >> 3] ^= 1 << (bit & 7);
      const scan = await read(damaged).catch((error: unknown) => {
        expect(error).toMatchObject({ name: 'FettleError' });
        return undefined;
      });
      // Damage to a date or a flag that says nothing leaves the mesh as it is.
      if (scan !== undefined)
        expect({ positions: scan.positions, triangles: scan.triangles }).toEqual({ positions, triangles });
    }
  });
});

describe('write3mf', () => {
  const scan = {
    name: 'a < b & "c"',
    units: 'mm' as const,
    positions: Float64Array.of(0.1, 0, 1e-7, 1 / 3, 123456.789, -0, 7, 8, 9),
    triangles: Uint32Array.of(0, 1, 2, 2, 1, 0),
  };

  it('reads back equal, bit for bit', async () => {
    const { positions, triangles, source } = await readScan(write3mf(scan));
    expect({ positions, triangles }).toEqual({ positions: scan.positions, triangles: scan.triangles });
    expect(source).toMatchObject({ format: '3mf', unit: 'mm', unitFrom: 'file' });
  });

  it('of many pieces too, and the same scan gives the same bytes', async () => {
    const many = {
      ...scan,
      positions: Float64Array.from({ length: 150_000 }, (_, i) => Math.sin(i)),
      triangles: Uint32Array.from({ length: 300_000 }, (_, i) => (i * 7) % 50_000),
    };
    const pieces = Array.from(write3mf(many));
    expect(pieces.length).toBeGreaterThan(5);
    const bytes = file(...pieces);
    expect(Buffer.compare(bytes, file(...write3mf(many)))).toBe(0);
    const back = await readScan(bytes);
    expect(Buffer.compare(Buffer.from(back.positions.buffer), Buffer.from(many.positions.buffer))).toBe(0);
    expect(Buffer.compare(Buffer.from(back.triangles!.buffer), Buffer.from(many.triangles.buffer))).toBe(0);
  });

  it('a cloud is refused', () => {
    expect(() => write3mf({ ...scan, triangles: undefined as never })).toThrow(
      expect.objectContaining({ code: 'no-triangles' }),
    );
  });
});
