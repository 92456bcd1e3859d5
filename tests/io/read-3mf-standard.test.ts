import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, numbers } from './bytes.js';
import { type ZipPart, zipFile } from './zip-file.js';

/** What ISO/IEC 25422 and ECMA-376-2 allow in a package and its model, beyond the plainest way to write them. */

const core = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const lattice = 'http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02';
const production = 'http://schemas.microsoft.com/3dmanufacturing/production/2015/06';
const relations = (target: string) =>
  `<Relationships><Relationship Target="${target}" Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>`;
const vertices =
  '<vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0.5"/></vertices>';
const mesh = `<mesh>${vertices}<triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh>`;
const body = `<resources><object id="1">${mesh}</object></resources><build><item objectid="1"/></build>`;
const model = (attributes: string, content = body) =>
  `<model unit="millimeter" xmlns="${core}"${attributes}>${content}</model>`;
const archive = (content: string | Uint8Array, ...more: readonly ZipPart[]) =>
  zipFile([{ name: '3D/3dmodel.model', content }, ...more]);
const read = (bytes: Uint8Array) => readScan(bytes, { name: 'part.3mf' });
const points = [0, 0, 0, 1, 0, 0, 0, 1, 0.5];

describe('an extension that a model requires', () => {
  const beams = `<resources><object id="1"><mesh>${vertices}<b:beamlattice radius="1"><b:beams><b:beam v1="0" v2="1"/></b:beams></b:beamlattice></mesh></object></resources><build><item objectid="1"/></build>`;

  it('is refused by its name where it is not read: beams are no cloud of points', async () => {
    await expect(read(archive(model(` xmlns:b="${lattice}" requiredextensions="b"`, beams)))).rejects.toMatchObject({
      code: 'not-read',
      message: `part.3mf: model '3D/3dmodel.model' requires the extension 'b' (${lattice.slice(0, 57)}…), which is not read: without it the shape would be another. Export it as a plain mesh.`,
    });
  });

  it('is refused where its prefix stands for nothing', async () => {
    await expect(read(archive(model(' requiredextensions="q"')))).rejects.toMatchObject({ code: 'not-read' });
  });

  it('is no hindrance where it changes nothing about the mesh', async () => {
    const attributes = ` xmlns:p="${production}" xmlns:m="http://schemas.microsoft.com/3dmanufacturing/material/2015/02" requiredextensions="p m"`;
    expect([...(await read(archive(model(attributes)))).positions]).toEqual(points);
  });

  it('is warned of where the model has it and does not require it', async () => {
    const { source } = await read(archive(model(` xmlns:b="${lattice}"`, beams)));
    expect(source.warnings.map((w) => w.code)).toEqual(['parts-passed-over']);
  });
});

describe('names of elements', () => {
  it('may have a prefix', async () => {
    const prefixed = body.replace(/<(\/?)(?=\w)/g, '<$1c:');
    const scan = await read(archive(`<c:model xmlns:c="${core}">${prefixed}</c:model>`));
    expect([...scan.positions]).toEqual(points);
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
  });

  it('of another namespace are not those of the core', async () => {
    const slices = `<s:slicestack id="9"><s:slice><s:vertices><s:vertex x="7" y="7"/></s:vertices></s:slice></s:slicestack>`;
    const other = `<x:object id="1"><x:mesh/></x:object>`;
    const content = body.replace('<resources>', `<resources>${slices}${other}`);
    const scan = await read(archive(model(' xmlns:s="urn:slices" xmlns:x="urn:other"', content)));
    expect([...scan.positions]).toEqual(points);
  });

  it('must close as they opened', async () => {
    await expect(read(archive(model('', body.replace('</object>', '</mesh>'))))).rejects.toMatchObject({
      code: 'bad-model',
      message: expect.stringMatching(/'<\/mesh>' ends what does not stand open/),
    });
  });
});

describe('text', () => {
  const utf16 = (text: string, little: boolean) =>
    numbers(
      'uint16',
      [...text].map((c) => c.charCodeAt(0)),
      little,
    );

  it.each([
    ['UTF-16 with its mark, low byte first', utf16(`\ufeff${model('')}`, true)],
    ['UTF-16 with its mark, high byte first', utf16(`\ufeff${model('')}`, false)],
    ['UTF-16 without a mark', utf16(model(''), true)],
    ['UTF-8 with its mark', file(`\ufeff${model('')}`)],
  ])('in %s', async (_, content) => {
    expect([...(await read(archive(content))).positions]).toEqual(points);
  });

  it('may have characters written as references', async () => {
    const content = body
      .replace('object id="1"', 'object id="&#x31;"')
      .replace('x="1"', 'x="&#49;&#x2E;0"')
      .replace('objectid="1"', 'objectid="&#49;" transform="1 0 0&#32;0 1 0 0 0 1&#x20;10 0 0"');
    expect([...(await read(archive(model('', content)))).positions]).toEqual([10, 0, 0, 11, 0, 0, 10, 1, 0.5]);
  });
});

describe('the part a relationship names', () => {
  it.each(['/3D/My part.model', './3D/My%20part.model', '3D/x/../My part.model', '/3d/my&#x20;part.MODEL'])(
    'as %s',
    async (target) => {
      const bytes = zipFile([
        { name: '_rels/.rels', content: relations(target) },
        { name: '3D/My part.model', content: model('') },
      ]);
      expect([...(await read(bytes)).positions]).toEqual(points);
    },
  );
});

describe('what stands in the file by a name that every object of JavaScript has', () => {
  it.each(['constructor', '__proto__', 'toString', 'hasOwnProperty'])(
    '%s as a unit is refused in words',
    async (name) => {
      await expect(read(archive(model('').replace('millimeter', name)))).rejects.toMatchObject({
        code: 'bad-model',
        message: `part.3mf: unknown unit '${name}'; the standard has micron, millimeter, centimeter, inch, foot, meter. Export it again.`,
      });
    },
  );
});

describe('an archive made to unpack without end', () => {
  /** Entries of the directory that all name the bytes of one. */
  const shared = (count: number, content: Uint8Array) => {
    const parts = Array.from({ length: count }, (_, i) => ({ name: `3D/${i}.model`, content }));
    return zipFile([{ name: '3D/3dmodel.model', content: model('') }, ...parts], '', true);
  };

  it('whose entries share packed bytes is refused before any is unpacked', async () => {
    await expect(read(shared(50, file(model('', `${' '.repeat(1 << 20)}${body}`))))).rejects.toMatchObject({
      code: 'bad-archive',
      message: expect.stringMatching(/'3D\/0\.model' and '3D\/1\.model' share bytes/),
    });
  });

  it('is held to a hundred times its size over all its parts together', async () => {
    const part = (i: number) =>
      `<object id="${i + 2}"><components><component objectid="1" p:path="/3D/${i}.model"/></components></object>`;
    const count = 10;
    const root = model(
      ` xmlns:p="${production}"`,
      `<resources>${Array.from({ length: count }, (_, i) => part(i)).join('')}</resources><build><item objectid="2"/></build>`,
    );
    const blank = ' '.repeat(10_000_000);
    const bytes = archive(
      root,
      ...Array.from({ length: count }, (_, i) => ({ name: `3D/${i}.model`, content: model('', blank + body) })),
    );
    await expect(read(bytes)).rejects.toMatchObject({
      code: 'too-large',
      message: expect.stringMatching(/unpack to \d+ MB or more: 100 times the size and more, which no scan does/),
    });
    expect((await readScan(bytes, { unpackedMost: 200_000_000 })).positions.length).toBe(9);
  });
});
