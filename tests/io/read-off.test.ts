import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file, inPieces } from './bytes.js';

/** A box without lid of 1 × 1 × 2: a floor of four corners and walls. */
const vertices = ['0 0 0', '1 0 0', '1 1 0', '0 1 0', '0 0 2', '1 0 2', '1 1 2', '0 1 2'];
const faces = ['4 3 2 1 0', '4 0 1 5 4', '4 1 2 6 5', '3 2 3 7', '3 2 7 6', '4 3 0 4 7'];
const off = (head: string, rows: readonly string[] = vertices, of: readonly string[] = faces) =>
  file(`${head}\n${rows.join('\n')}\n${of.join('\n')}\n`);

describe('OFF', () => {
  it.each([
    ['counts on a line of their own', off('OFF\n8 6 0')],
    ['counts behind the keyword', off('OFF 8 6 12')],
    ['comments and blank lines', off('# a box\nOFF # here\n\n# counts\n8 6 0 # no edges\n')],
    [
      'colors of faces',
      off(
        'OFF\n8 6 0',
        vertices,
        faces.map((f, i) => `${f} ${i} 0.5 0 1`),
      ),
    ],
    ['line ends of two bytes', file(new TextDecoder().decode(off('OFF\n8 6 0')).replaceAll('\n', '\r\n'))],
  ])('with %s', async (_, bytes) => {
    for (const source of [bytes, inPieces(bytes, 3)]) {
      const scan = await readScan(source, { name: 'box.off' });
      expect([...scan.positions]).toEqual(vertices.flatMap((v) => v.split(' ').map(Number)));
      expect(scan.triangles!.length).toBe(3 * 10);
      expect(scan.source).toMatchObject({ format: 'off', encoding: 'text', unit: 'mm' });
      expect(scan.source.warnings.map((w) => w.code)).toEqual(['units-assumed']);
    }
  });

  it('with normals and colors of vertices', async () => {
    const rows = vertices.map((v) => `${v} 0 0 1 255 128 0 255`);
    const scan = await readScan(off('CNOFF\n8 6 0', rows));
    expect([...scan.normals!.subarray(0, 3)]).toEqual([0, 0, 1]);
    expect([...scan.colors!.subarray(0, 3)]).toEqual([255, 128, 0]);
    expect([
      ...(
        await readScan(
          off(
            'COFF\n8 6 0',
            vertices.map((v) => `${v} 1 0.5 0 1`),
          ),
        )
      ).colors!.subarray(0, 3),
    ]).toEqual([255, 128, 0]);
  });

  it('with a concave face and one of two corners', async () => {
    const scan = await readScan(off('OFF\n4 2 0', ['0 0 0', '4 2 0', '0 4 0', '1 2 0'], ['4 0 1 2 3', '2 0 1']));
    // The corner turned inward is in both triangles.
    expect([...scan.triangles!].filter((v) => v === 3).length).toBe(2);
    expect(scan.source.warnings.map((w) => w.code)).toContain('faces-dropped');
  });

  it.each([
    ['a cloud', off('OFF\n8 0 0', vertices, [])],
    ['a cloud without a count of edges', off('OFF 8 0', vertices, [])],
  ])('that is %s', async (_, bytes) => {
    expect((await readScan(bytes)).triangles).toBeUndefined();
  });

  it.each([
    ['binary', 'OFF BINARY', 'not-read', /binary OFF is not read: export it as text/],
    ['of four dimensions', '4OFF\n8 6 0', 'not-read', /more than three coordinates/],
    ['without counts', 'OFF\nmany', 'bad-number', /line 2: holds 'many'/],
    ['with a count that is none', 'OFF\n8 -6 0', 'bad-header', /followed by the counts/],
    ['with more faces than there are', 'OFF\n8 9 0', 'cut-short', /face 7 of 9 cut short: the file ends after line 16/],
    ['with more vertices than there are', 'OFF\n9 6 0', 'cut-short', /face 6 of 6 cut short/],
    ['with fewer vertices than there are', 'OFF\n7 6 0', 'bad-face', /./],
  ])('%s is refused in words', async (_, head, code, message) => {
    const error = await readScan(off(head), { name: 'box.off' }).catch((e: unknown) => e);
    expect(error).toMatchObject({ name: 'FettleError', message: expect.stringMatching(message) });
    if (code !== 'bad-face') expect(error).toMatchObject({ code });
  });

  it('a corner that is no vertex, and one that is missing', async () => {
    await expect(readScan(off('OFF\n8 1 0', vertices, ['3 0 1 8']))).rejects.toMatchObject({
      code: 'index-out-of-range',
      message: expect.stringMatching(/face 1 names vertex 8; the file has 8 vertices, counted from 0/),
    });
    await expect(readScan(off('OFF\n8 1 0', vertices, ['3 0 1']))).rejects.toMatchObject({ code: 'wrong-count' });
  });
});
