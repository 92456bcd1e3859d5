import { readdirSync, readFileSync } from 'node:fs';
import { FettleError } from '@fettle/geom';
import { type ReadOptions, readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, inPieces, numbers, stl } from './bytes.js';

const folder = new URL('../fixtures/malformed/', import.meta.url);

/** Every file of the folder: what is wrong with it, for programs and for people. Each message opens with the file's name. */
const files: readonly (readonly [name: string, code: string, message: string])[] = [
  [
    'a-letter.txt',
    'not-a-scan',
    "no scan this program reads: text, beginning 'Dear customer,'. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.",
  ],
  [
    'a-page.ply',
    'not-a-scan',
    "no scan this program reads: text, beginning '<!DOCTYPE html>'. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.",
  ],
  [
    'a-picture.stl',
    'not-a-scan',
    'no scan this program reads: binary, beginning 89 50 4e 47 0d 0a 1a 0a (a picture). Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.',
  ],
  ['empty.ply', 'empty-file', 'the file is empty. Export it again.'],
  [
    'noise.stl',
    'not-a-scan',
    'no scan this program reads: binary, beginning 3c 5e 81 b4 0c 5e c6 8e. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.',
  ],
  [
    'obj-all-nan.obj',
    'not-finite',
    'no point has three coordinates that are numbers (2 points read). Export it again.',
  ],
  ['obj-corner-of-four.obj', 'bad-face', "line 4: '3/1/1/1' is no corner of a face. Export it again."],
  [
    'obj-faces-without-vertices.obj',
    'index-out-of-range',
    'line 1: a face names vertex 3; the file has 0 vertices. Export it again.',
  ],
  [
    'obj-index-beyond-normal.obj',
    'index-out-of-range',
    'line 5: a face names normal 2; the file has 1 normal. Export it again.',
  ],
  [
    'obj-index-beyond.obj',
    'index-out-of-range',
    'line 5: a face names vertex 9; the file has 3 vertices. Export it again.',
  ],
  ['obj-index-half.obj', 'bad-number', "line 4: 'f 1 2 2.5' holds '2.5' where an index belongs. Export it again."],
  [
    'obj-index-huge.obj',
    'index-out-of-range',
    "line 4: 'f 1 2 99999999999999999999' names vertex 100,000,000,000,000,000,000; 3 vertices precede it. Export it again.",
  ],
  [
    'obj-index-too-far-back.obj',
    'index-out-of-range',
    "line 3: 'f -1 -2 -3' names vertex -3; 2 vertices precede it. Export it again.",
  ],
  ['obj-index-word.obj', 'bad-number', "line 4: 'f 1 2 three' holds 'three' where an index belongs. Export it again."],
  ['obj-index-zero.obj', 'index-out-of-range', "line 4: 'f 1 2 0' names vertex 0; they count from 1. Export it again."],
  ['obj-no-vertices.obj', 'no-points', 'the file holds no points. Export the scan again.'],
  ['obj-normal-short.obj', 'wrong-count', "line 2: 'vn 0 1' has 2 values; a normal has 3. Export it again."],
  [
    'obj-vertex-decimal-comma.obj',
    'bad-number',
    "line 1: 'v 0,5 0,25 0' holds '0,5' where a number belongs, decimals take a point. Export it again.",
  ],
  [
    'obj-vertex-long.obj',
    'wrong-count',
    "line 2: 'v 1 0 0 0 0 0 0 0 0' has 9 values; a vertex has 3 to 8. Export it again.",
  ],
  ['obj-vertex-short.obj', 'wrong-count', "line 2: 'v 1 0' has 2 values; a vertex has 3 to 8. Export it again."],
  ['obj-vertex-word.obj', 'bad-number', "line 2: 'v 1 O 0' holds 'O' where a number belongs. Export it again."],
  ['only-blanks.txt', 'not-a-scan', 'no scan: 5 bytes of blanks and comments. Export it again.'],
  ['only-comments.obj', 'not-a-scan', 'no scan: 8 bytes of blanks and comments. Export it again.'],
  [
    'ply-all-nan.ply',
    'not-finite',
    'no point has three coordinates that are numbers (2 points read). Export it again.',
  ],
  [
    'ply-face-cut-short.ply',
    'cut-short',
    'face 2 of 3 cut short: the file holds 287 bytes, its header asks for at least 304. Export it again.',
  ],
  [
    'ply-four-billion-corners.ply',
    'bad-face',
    'face 1 of 1 has 4,000,000,000 corners; the file has 8 vertices. Export it again.',
  ],
  [
    'ply-four-billion-faces.ply',
    'cut-short',
    'face 3 of 4,000,000,000 cut short: the file holds 300 bytes, its header asks for at least 52,000,000,274. Export it again.',
  ],
  [
    'ply-four-billion-vertices.ply',
    'cut-short',
    'vertex 9 of 4,000,000,000 cut short: the file holds 274 bytes, its header asks for at least 48,000,000,204. Export it again.',
  ],
  [
    'ply-goes-on.ply',
    'wrong-count',
    'the file goes on for 13 bytes behind what its header counts (7 vertices, 1 face). Export it again.',
  ],
  [
    'ply-header-count-missing.ply',
    'bad-header',
    "line 3: 'element vertex' should be 'element', a name and a count. Export it again.",
  ],
  [
    'ply-header-count-negative.ply',
    'bad-header',
    "line 3: 'element vertex -1' should be 'element', a name and a count. Export it again.",
  ],
  [
    'ply-header-count-word.ply',
    'bad-header',
    "line 3: 'element vertex many' should be 'element', a name and a count. Export it again.",
  ],
  [
    'ply-header-end-missing-before-data.ply',
    'bad-header',
    "line 7: '1 2 3' is no line of a PLY header. Export it again.",
  ],
  [
    'ply-header-float-count.ply',
    'bad-header',
    "line 8: 'property list float int vertex_indices' counts a list with a float; a count is an integer. Export it again.",
  ],
  [
    'ply-header-no-end.ply',
    'bad-header',
    "the PLY header has no 'end_header' in the 103 bytes of the file. Export it again.",
  ],
  ['ply-header-no-format.ply', 'bad-header', "line 6: the header ends without a 'format' line. Export it again."],
  ['ply-header-no-vertex-element.ply', 'no-coordinates', "the header has no element 'vertex'. Export it again."],
  [
    'ply-header-no-z.ply',
    'no-coordinates',
    'its vertices have no properties x, y and z, only: x, y, depth. Export it again with coordinates.',
  ],
  [
    'ply-header-only-magic.ply',
    'bad-header',
    "the PLY header has no 'end_header' in the 4 bytes of the file. Export it again.",
  ],
  [
    'ply-header-property-first.ply',
    'bad-header',
    "line 3: 'property float x' stands before the first 'element' line. Export it again.",
  ],
  [
    'ply-header-property-short.ply',
    'bad-header',
    "line 5: 'property float' should be 'property', a type and a name, or 'property list', two types and a name. Export it again.",
  ],
  ['ply-header-two-formats.ply', 'bad-header', "line 3: a second 'format' line. Export it again."],
  ['ply-header-two-vertex-elements.ply', 'bad-header', "line 7: a second element 'vertex'. Export it again."],
  ['ply-header-two-x.ply', 'bad-header', "line 5: a second property 'x' of element 'vertex'. Export it again."],
  [
    'ply-header-unknown-format.ply',
    'unknown-format',
    "line 2: unknown format in 'format binary_middle_endian 1.0'; known are ascii, binary_little_endian and binary_big_endian. Export it again.",
  ],
  [
    'ply-header-unknown-list-type.ply',
    'unknown-type',
    "line 8: unknown type 'index' in 'property list uchar index vertex_indices'; known are char, uchar, short, ushort, int, uint, float, double, int8, uint8, int16, uint16, int32, uint32, float32, float64. Export it again.",
  ],
  [
    'ply-header-unknown-type.ply',
    'unknown-type',
    "line 4: unknown type 'real' in 'property real x'; known are char, uchar, short, ushort, int, uint, float, double, int8, uint8, int16, uint16, int32, uint32, float32, float64. Export it again.",
  ],
  [
    'ply-index-beyond.ply',
    'index-out-of-range',
    'face 2 of 2 names vertex 8; the file has 8 vertices, counted from 0. Export it again.',
  ],
  [
    'ply-index-half.ply',
    'index-out-of-range',
    'face 1 of 1 names vertex 1.5, which is no whole number. Export it again.',
  ],
  [
    'ply-index-in-polygon.ply',
    'index-out-of-range',
    'face 1 of 1 names vertex 99; the file has 8 vertices, counted from 0. Export it again.',
  ],
  [
    'ply-index-negative.ply',
    'index-out-of-range',
    'face 1 of 1 names vertex -1; the file has 8 vertices, counted from 0. Export it again.',
  ],
  [
    'ply-more-vertices-than-indices.ply',
    'too-large',
    'its header asks for 5,000,000,000 vertices; indices reach 4,294,967,295. Split the scan.',
  ],
  ['ply-negative-corners.ply', 'bad-face', 'face 1 of 1 has -3 corners; it needs three. Export it again.'],
  ['ply-no-vertices.ply', 'no-points', 'the file holds no points. Export the scan again.'],
  [
    'ply-text-decimal-comma.ply',
    'bad-number',
    "line 8: vertex 1 of 2 holds '0,5' where a number belongs, decimals take a point. Export it again.",
  ],
  ['ply-text-face-missing.ply', 'cut-short', 'face 2 of 2 cut short: the file ends after line 14. Export it again.'],
  [
    'ply-text-face-row-short.ply',
    'wrong-count',
    'line 14: face 1 of 1 has 4 values, its header asks for 5. Export it again.',
  ],
  [
    'ply-text-goes-on.ply',
    'wrong-count',
    'the file goes on for 12 bytes behind what its header counts (3 vertices). Export it again.',
  ],
  [
    'ply-text-index-beyond.ply',
    'index-out-of-range',
    'line 14: face 1 of 1 names vertex 4; the file has 4 vertices, counted from 0. Export it again.',
  ],
  [
    'ply-text-index-nan.ply',
    'index-out-of-range',
    'line 14: face 1 of 1 names a vertex by what is no number. Export it again.',
  ],
  [
    'ply-text-row-long.ply',
    'wrong-count',
    'line 10: vertex 3 of 4 has 4 values, its header asks for 3. Export it again.',
  ],
  [
    'ply-text-row-short.ply',
    'wrong-count',
    'line 10: vertex 3 of 4 has 2 values, its header asks for 3. Export it again.',
  ],
  [
    'ply-text-too-few-counted.ply',
    'wrong-count',
    'line 13: face 1 of 1 has 3 values, its header asks for 1. Export it again.',
  ],
  [
    'ply-text-vertex-missing.ply',
    'cut-short',
    'vertex 6 of 8 cut short: the file ends after line 14. Export it again.',
  ],
  ['ply-text-word.ply', 'bad-number', "line 9: vertex 2 of 4 holds 'zero' where a number belongs. Export it again."],
  [
    'ply-vertex-cut-short.ply',
    'cut-short',
    'vertex 5 of 8 cut short: the file holds 225 bytes, its header asks for at least 291. Export it again.',
  ],
  ['stl-all-nan.stl', 'not-finite', 'no triangle has coordinates that are numbers (1 triangle read). Export it again.'],
  [
    'stl-counts-none.stl',
    'wrong-count',
    'its header counts 0 triangles, 84 bytes, but the file holds 184 bytes: room for 2. Export it again.',
  ],
  [
    'stl-counts-too-few.stl',
    'wrong-count',
    'its header counts 1 triangle, 134 bytes, but the file holds 284 bytes: room for 4. Export it again.',
  ],
  [
    'stl-cut-short.stl',
    'cut-short',
    'triangle 2 of 3 cut short: the file holds 165 bytes, its header asks for 234. Export it again.',
  ],
  [
    'stl-four-billion.stl',
    'cut-short',
    'triangle 3 of 4,000,000,000 cut short: the file holds 184 bytes, its header asks for 200,000,000,084. Export it again.',
  ],
  [
    'stl-header-cut-short.stl',
    'cut-short',
    'the file holds 82 bytes; the header of a binary STL alone takes 84. Export it again.',
  ],
  ['stl-no-triangles.stl', 'no-points', 'the file holds no points. Export the scan again.'],
  [
    'stl-text-cut-short.stl',
    'cut-short',
    "triangle 2 cut short: the file ends after line 13, 149 bytes, without 'endsolid'. Export it again.",
  ],
  ['stl-text-four-corners.stl', 'bad-face', 'line 7: triangle 1 has more than three corners. Export it again.'],
  [
    'stl-text-no-end.stl',
    'cut-short',
    "cut short behind triangle 1: the file ends after line 9, 98 bytes, without 'endsolid'. Export it again.",
  ],
  ['stl-text-no-endfacet.stl', 'bad-statement', "line 8: 'endsolid' where 'endfacet' belongs. Export it again."],
  ['stl-text-no-loop.stl', 'bad-statement', "line 3: 'ring' where 'loop' belongs. Export it again."],
  ['stl-text-no-triangles.stl', 'no-points', 'the file holds no points. Export the scan again.'],
  [
    'stl-text-something-else.stl',
    'bad-statement',
    "line 9: 'color' where 'facet' or 'endsolid' belongs. Export it again.",
  ],
  ['stl-text-word.stl', 'bad-number', "line 5: triangle 1 holds 'o' where a number belongs. Export it again."],
  ['stl-text-words-behind.stl', 'bad-statement', "line 10: 'the' where 'solid' belongs. Export it again."],
  [
    'utf-16.obj',
    'not-a-scan',
    'no scan this program reads: binary, beginning ff fe 76 00 20 00 31 00 (text in UTF-16). Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.',
  ],
  [
    'zeros.stl',
    'not-a-scan',
    'no scan this program reads: binary, beginning 00 00 00 00 00 00 00 00. Export it as PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or a list of points.',
  ],
];

const refusalOf = (bytes: Uint8Array, options: ReadOptions) =>
  readScan(bytes, options).then(
    () => undefined,
    (error: unknown) => error,
  );

describe('a malformed file is refused with words for what is wrong, where, and what to do', () => {
  it.each(files)('%s', async (name, code, message) => {
    const bytes = new Uint8Array(readFileSync(new URL(name, folder)));
    const error = await refusalOf(bytes, { name });
    expect(error).toBeInstanceOf(FettleError);
    expect(error).toMatchObject({ code, message: `${name}: ${message}` });
  });

  it('a stream of unknown length gets the same words', async () => {
    for (const [name, code, message] of files) {
      const bytes = new Uint8Array(readFileSync(new URL(name, folder)));
      await expect(readScan(inPieces(bytes, 37), { name })).rejects.toMatchObject({
        code,
        message: `${name}: ${message}`,
      });
    }
  });

  it('every file of the folder has its row', () => {
    expect(readdirSync(folder).sort()).toEqual(files.map(([name]) => name).sort());
  });
});

describe('what a scanner writes for a missing point', () => {
  const head = 'ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\n';
  const faces = 'element face 2\nproperty list uchar int vertex_indices\nend_header\n';

  it('is dropped with the triangles that name it; the others keep their points', async () => {
    const scan = await readScan(file(head, faces, 'nan nan nan\n1 0 0\n1 1 0\n0 1 0\n3 0 1 2\n3 1 2 3\n'), {
      name: 'scan.ply',
      units: 'mm',
    });
    expect([...scan.positions]).toEqual([1, 0, 0, 1, 1, 0, 0, 1, 0]);
    expect([...scan.triangles!]).toEqual([0, 1, 2]);
    expect(scan.source.warnings.map((w) => w.message)).toEqual([
      'scan.ply: 1 point with a coordinate that is no number and 1 triangle naming them dropped.',
    ]);
  });

  it('takes its normal and its color with it', async () => {
    const scan = await readScan(file('v nan 0 0 1 0 0\nv 1 2 3 0 1 0\nvn 1 0 0\nvn 0 1 0\n'), { units: 'mm' });
    expect([...scan.normals!]).toEqual([0, 1, 0]);
    expect([...scan.colors!]).toEqual([0, 255, 0]);
  });

  it('is dropped whether it is written in binary as NaN or infinity, or as a number beyond all doubles', async () => {
    const binary = head.replace('ascii', 'binary_little_endian');
    const scan = await readScan(
      file(binary, 'end_header\n', numbers('float32', [1, 2, 3, Number.NaN, 0, 0, 0, Infinity, 0, 0, 0, -Infinity])),
    );
    expect([...scan.positions]).toEqual([1, 2, 3]);
    expect([...(await readScan(file('v 1 2 3\nv 1e999 0 0\n'))).positions]).toEqual([1, 2, 3]);
  });
});

describe('keepWhole reads what is whole of a file that ends early, and says what was lost', () => {
  const read = async (bytes: Uint8Array, name: string) => {
    const scan = await readScan(bytes, { name, units: 'mm', keepWhole: true });
    return {
      points: scan.positions.length / 3,
      triangles: scan.triangles?.length,
      warnings: scan.source.warnings.map((w) => w.message),
    };
  };
  const load = (name: string) => new Uint8Array(readFileSync(new URL(name, folder)));

  it.each([
    [
      'ply-vertex-cut-short.ply',
      4,
      undefined,
      'vertex 5 of 8 cut short: the file holds 225 bytes, its header asks for at least 291. Lost: 4 vertices and all 2 faces.',
    ],
    [
      'ply-face-cut-short.ply',
      8,
      3,
      'face 2 of 3 cut short: the file holds 287 bytes, its header asks for at least 304. Lost: 2 faces.',
    ],
    [
      'ply-text-vertex-missing.ply',
      5,
      undefined,
      'vertex 6 of 8 cut short: the file ends after line 14. Lost: 3 vertices and all 1 face.',
    ],
    ['ply-text-goes-on.ply', 3, undefined, '12 bytes behind what its header counts (3 vertices) left out.'],
    [
      'stl-cut-short.stl',
      3,
      3,
      'triangle 2 of 3 cut short: the file holds 165 bytes, its header asks for 234. Lost: 2 triangles.',
    ],
    ['stl-counts-none.stl', 4, 6, '2 triangles read, its header counts 0.'],
    [
      'stl-text-cut-short.stl',
      3,
      3,
      "triangle 2 cut short: the file ends after line 13, 149 bytes, without 'endsolid'.",
    ],
  ])('%s', async (name, points, triangles, message) => {
    expect(await read(load(name), name)).toEqual({ points, triangles, warnings: [`${name}: ${message}`] });
  });

  it('faces that stand before their vertices lose those whose points are lost', async () => {
    const bytes = file(
      'ply\nformat ascii 1.0\nelement face 2\nproperty list uchar int vertex_indices\nelement vertex 4\n',
      'property float x\nproperty float y\nproperty float z\nend_header\n3 0 1 2\n3 1 2 3\n0 0 0\n1 0 0\n0 1 0\n',
    );
    expect(await read(bytes, 'scan.ply')).toMatchObject({ points: 3, triangles: 3 });
  });

  it.each([
    ['OBJ', 'v 0 0 0\nv 1 0 0\nv 1 1 0\nf 1 2 3\nv 1 ', 3, 'line 5, the last, is cut short: left out.'],
    ['a list of points', '0 0 0\n1 0 0\n1 1', 2, 'line 3, the last, is cut short: left out.'],
    [
      'text PLY',
      'ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nend_header\n0 0 0\n1 0 0\n1 1',
      2,
      'line 10, the last, is cut short: left out.',
    ],
  ])('%s that ends within a line', async (_, text, points, message) => {
    await expect(readScan(file(text))).rejects.toMatchObject({ name: 'FettleError' });
    const result = await read(file(text), 'scan');
    expect(result.points).toBe(points);
    expect(result.warnings[0]).toBe(`scan: ${message}`);
  });

  it('every prefix of a file is read or refused in words, and none gives more than the whole', async () => {
    const whole = stl([
      [0, 0, 0, 1, 0, 0, 1, 1, 0],
      [0, 0, 0, 1, 1, 0, 0, 1, 0],
    ]);
    for (let end = 0; end < whole.length; end++) {
      const result = await readScan(whole.subarray(0, end), { keepWhole: true }).catch((error: unknown) => error);
      if (result instanceof Error) expect(result).toBeInstanceOf(FettleError);
      else expect((result as { triangles: Uint32Array }).triangles.length).toBeLessThanOrEqual(3);
    }
  });
});
