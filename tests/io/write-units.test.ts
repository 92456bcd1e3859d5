import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkPlan, type LengthUnit, type ResultsJson, type Scan } from '@fettle/geom';
import { bytesOf, readScan, write3mf, writeObj, writePly, writeStl, writeXyz } from '@fettle/io';
import { measureFile, openScan } from '@fettle/io/node';
import { unzipSync } from 'fflate';
import type { Mesh } from 'three';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest';
import { elementsOf } from './markup.js';
import { platePlan, platePly } from './plate.js';

/** A gauge of 254 × 127 × 50.8 mm: 10 × 5 × 2 inches, an inch being 25.4 mm (ISO 80000-3). */
const gauge: Scan = {
  name: 'gauge',
  units: 'mm',
  positions: Float64Array.of(0, 0, 0, 254, 0, 0, 0, 127, 0, 0, 0, 50.8),
  triangles: Uint32Array.of(0, 1, 2, 0, 3, 1),
};
/** Length, width and height in each unit. */
const sizes: readonly (readonly [LengthUnit, readonly number[]])[] = [
  ['mm', [254, 127, 50.8]],
  ['cm', [25.4, 12.7, 5.08]],
  ['m', [0.254, 0.127, 0.0508]],
  ['inch', [10, 5, 2]],
];

const decode = (bytes: Uint8Array): string => new TextDecoder('latin1').decode(bytes);
const buffer = (bytes: Uint8Array): ArrayBuffer => bytes.slice().buffer as ArrayBuffer;
/** Largest coordinates along each axis: the gauge begins at 0. */
const largest = (flat: ArrayLike<number>): number[] =>
  [0, 1, 2].map((k) => Math.max(...Array.from(flat).filter((_, i) => i % 3 === k)));
const expectSizes = (found: readonly number[], expected: readonly number[]): void =>
  found.forEach((size, k) => void expect(size / expected[k]!).toBeCloseTo(1, 6));

describe.each(sizes)('a scan in %s has its true size', (units, expected) => {
  it('in PLY, OBJ and STL for a reader that knows of no units', () => {
    const ply = new PLYLoader().parse(buffer(bytesOf(writePly(gauge, { units }))));
    expectSizes(largest(ply.getAttribute('position').array), expected);
    const [obj] = new OBJLoader().parse(decode(bytesOf(writeObj(gauge, { units })))).children as Mesh[];
    expectSizes(largest(obj!.geometry.getAttribute('position').array), expected);
    const stl = new STLLoader().parse(buffer(bytesOf(writeStl(gauge, { units }))));
    expectSizes(largest(stl.getAttribute('position').array), expected);
    // The outside stays outside: facet normals do not depend on the unit.
    expect([...stl.getAttribute('normal').array].slice(0, 3)).toEqual([0, 0, 1]);
  });

  it('in 3MF, which names the unit as the standard spells it', () => {
    const model = decode(unzipSync(bytesOf(write3mf(gauge, { units })))['3D/3dmodel.model']!);
    const elements = elementsOf(model, 'xml');
    // ISO/IEC 25422, the model element: micron, millimeter, centimeter, inch, foot, meter.
    const word = { mm: 'millimeter', cm: 'centimeter', m: 'meter', inch: 'inch' }[units];
    expect(elements.find(({ name }) => name === 'model')!.attributes.unit).toBe(word);
    const vertices = elements.filter(({ name }) => name === 'vertex').map((e) => e.attributes);
    expectSizes(
      (['x', 'y', 'z'] as const).map((axis) => Math.max(...vertices.map((v) => Number(v[axis])))),
      expected,
    );
  });

  it.each([
    ['PLY', writePly],
    ['OBJ', writeObj],
    ['STL', writeStl],
    ['3MF', write3mf],
    ['a list of points', writeXyz],
  ] as const)('in %s, read back in mm by what the file says', async (_, write) => {
    const back = await readScan(write(gauge, { units }));
    expect(back.source).toMatchObject({ unit: units, unitFrom: 'file' });
    expectSizes(largest(back.positions), [254, 127, 50.8]);
  });
});

test('a unit that is none is refused before a byte is written', () => {
  for (const write of [writePly, writeObj, writeStl, write3mf, writeXyz])
    expect(() => write(gauge, { units: 'ft' as LengthUnit })).toThrow(
      expect.objectContaining({
        code: 'bad-units',
        message: "gauge: not written: unknown unit 'ft'; known are mm, cm, m, inch.",
      }),
    );
});

test('STL holds what in its unit is not beyond single precision', () => {
  const far = { ...gauge, positions: gauge.positions.map((c) => c * 1e37) };
  expect(() => writeStl(far)).toThrow(expect.objectContaining({ code: 'too-large' }));
  expect(() => writeStl(far, { units: 'm' })).not.toThrow();
});

describe('delivered by a plan', () => {
  const folder = mkdtempSync(join(tmpdir(), 'fettle-units-'));
  const plate = join(folder, 'plate.ply');
  beforeAll(() => writeFileSync(plate, platePly()));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const { steps, ...head } = platePlan() as { steps: object[] };
  const deliver = (id: string, scan: object) => ({ step: 'deliver', id, scan });

  test('each file is in its unit; where the format has no field for it, the name says it; results and report too', async () => {
    const plan = {
      ...head,
      steps: [
        ...steps,
        deliver('plain', { format: 'stl' }),
        deliver('for-shop', { format: 'stl', in: 'datum', units: 'inch' }),
        deliver('for-print', { format: '3mf', in: 'datum', units: 'inch' }),
        deliver('for-site', { format: 'obj', in: 'datum', units: 'm', simplify: { triangles: 3000, protect: [] } }),
        { step: 'deliver', id: 'report', report: {} },
      ],
    };
    const out = join(folder, 'out');
    const measured = await measureFile(plan, plate, { out });
    if (measured.error) throw measured.error;
    const names = measured.files.map((file) => file.slice(out.length + 1));
    expect(names.slice(2)).toEqual([
      'plain.stl',
      'for-shop.inch.stl',
      'for-print.3mf',
      'for-site.m.obj',
      'report.html',
    ]);

    // The plate is 100 × 60 × 10 mm, its frame at a corner of its top.
    const stl = new STLLoader().parse(buffer(readFileSync(join(out, 'for-shop.inch.stl'))));
    stl.computeBoundingBox();
    const { min, max } = stl.boundingBox!;
    for (const [inches, mm] of [
      [max.x - min.x, 100],
      [max.y - min.y, 60],
      [max.z - min.z, 10],
    ] as const)
      expect(Math.abs(25.4 * inches - mm)).toBeLessThan(0.3);
    const site = await openScan(join(out, 'for-site.m.obj'));
    expect(site.source).toMatchObject({ unit: 'm', unitFrom: 'file' });

    const results = JSON.parse(readFileSync(join(out, 'results.json'), 'utf8')) as ResultsJson;
    expect(results.delivered).toEqual([
      { id: 'plain', format: 'stl', units: 'mm', frame: null },
      { id: 'for-shop', format: 'stl', units: 'inch', frame: 'datum' },
      { id: 'for-print', format: '3mf', units: 'inch', frame: 'datum' },
      { id: 'for-site', format: 'obj', units: 'm', frame: 'datum' },
    ]);
    const report = readFileSync(join(out, 'report.html'), 'utf8');
    expect(report).toContain('<strong>plain</strong>: delivered as STL in mm, as scanned.');
    expect(report).toContain(
      '<strong>for-shop</strong>: delivered as STL in inches, set on datum; STL has no field for the unit, so choose it where it is opened.',
    );
    expect(report).toContain('<strong>for-print</strong>: delivered as 3MF in inches, set on datum.');
    expect(report).toMatch(
      /for-site<\/strong>: delivered as OBJ in m, set on datum; OBJ has no .*; 4,264 triangles simplified/,
    );
  });

  test('a unit that is none is refused when the plan is checked', () => {
    const plan = { ...head, steps: [...steps, deliver('out', { format: 'stl', units: 'inches' })] };
    expect(() => checkPlan(plan)).toThrow(
      'scan.units: expected "mm", "cm", "m" or "inch", found "inches"; did you mean "inch"?',
    );
  });
});
