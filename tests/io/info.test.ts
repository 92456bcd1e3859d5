import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import type { Scan } from '@fettle/geom';
import { readScan, type ScanInfo, scanInfo, scanInfoText } from '@fettle/io';
import { afterAll, describe, expect, test } from 'vitest';

/** Cubes of some edge lengths in a row, closed, or without their top faces. */
function cubes(edges: readonly number[], open = false): Scan {
  const positions: number[] = [];
  const triangles: number[] = [];
  let x = 0;
  for (const a of edges) {
    const first = positions.length / 3;
    for (let corner = 0; corner < 8; corner++)
      positions.push(x + a * (corner & 1), a * ((corner >> 1) & 1), a * ((corner >> 2) & 1));
    // biome-ignore format: two triangles of a face a line, the top last
    const faces = [
      0, 2, 3, 0, 3, 1,
      0, 1, 5, 0, 5, 4,
      1, 3, 7, 1, 7, 5,
      3, 2, 6, 3, 6, 7,
      2, 0, 4, 2, 4, 6,
      4, 5, 7, 4, 7, 6,
    ];
    triangles.push(...(open ? faces.slice(0, -6) : faces).map((corner) => first + corner));
    x += 2 * a;
  }
  return {
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(triangles),
    units: 'mm',
    name: 'cubes',
  };
}

describe('what a scan holds', () => {
  test('a closed cube: one piece, no hole, its edges its spacing', () => {
    const info = scanInfo(cubes([100]));
    expect(info).toMatchObject({ points: 8, triangles: 12, normals: false, colors: false, extent: [100, 100, 100] });
    expect(info.pieces).toEqual({ count: 1, largest: 1, specks: 0, loosePoints: 0 });
    expect(info.holes).toEqual({ count: 0, longest: [] });
    expect(info.spacing).toBe(100);
    expect(scanInfoText(info)).toMatch(/holes +none: the surface is closed/);
  });

  test('open boxes: a loop of four edges each', () => {
    const info = scanInfo(cubes([100, 50], true));
    expect(info.holes).toEqual({ count: 2, longest: [400, 200] });
    // Areas 5·100² and 5·50².
    expect(info.pieces?.count).toBe(2);
    expect(info.pieces?.largest).toBeCloseTo(0.8, 12);
    expect(scanInfoText(info)).toContain('2; the largest has 80.0 % of the area');
  });

  test('specks are told', () => {
    const info = scanInfo(cubes([100, 1, 1]));
    expect(info.pieces).toMatchObject({ count: 3, specks: 2 });
    expect(scanInfoText(info)).toContain('2 are specks');
  });

  test('points in no triangle are told', () => {
    const cube = cubes([100]);
    const info = scanInfo({ ...cube, positions: Float64Array.of(...cube.positions, 50, 50, 50) });
    expect(info.pieces).toMatchObject({ count: 1, loosePoints: 1 });
    expect(scanInfoText(info)).toContain('1 point in no triangle');
  });

  test('a cloud has no pieces and no holes', () => {
    const { triangles: _, ...cloud } = cubes([100]);
    const info = scanInfo(cloud);
    expect(info).not.toHaveProperty('pieces');
    expect(info).not.toHaveProperty('holes');
    expect(scanInfoText(info)).toMatch(/triangles +none: a cloud of points/);
  });
});

describe('whether the units are plausible', () => {
  test.each([10, 300, 30_000])('%d mm is a size of machines and their parts', (size) => {
    expect(scanInfo(cubes([size])).size).toEqual({ plausible: true, offers: [] });
  });

  test.each([
    ['a machine of 0.3 mm was in meters', cubes([0.3]), 'm', '300.0 mm'],
    ['a machine of 3 mm was in meters', cubes([3]), 'm', '3000.0 mm'],
    ['a machine of 300 m was in micrometers', cubes([300_000]), 'µm', '300.0 mm'],
    ['a machine of 35 m was in micrometers', cubes([35_000]), 'µm', '35.00 mm'],
  ])('%s', (_, scan, unit, size) => {
    const info = scanInfo(scan);
    expect(info.size).toMatchObject({ plausible: false, offers: [{ unit }, ...info.size.offers.slice(1)] });
    expect(scanInfoText(info).replaceAll(/\s+/g, ' ')).toContain(`If its numbers are ${unit} it is ${size}`);
  });

  test('a part 6.6 inches long whose file names no unit: all units that make it plausible, with the size each would give', () => {
    // 1 inch is 25.4 mm by definition.
    const info = scanInfo(cubes([6.6]));
    expect(info.size.plausible).toBe(false);
    expect(info.size.offers.map(({ unit, size }) => [unit, Number(size.toPrecision(6))])).toEqual([
      ['inch', 167.64],
      ['cm', 66],
      ['m', 6600],
    ]);
    expect(scanInfoText(info).replaceAll(/\s+/g, ' ')).toContain(
      'If its numbers are inch it is 167.6 mm, if cm it is 66.00 mm, if m it is 6600.0 mm: export it again in mm, or read it with --units inch, cm or m.',
    );
  });

  test('a file of millimeters read as meters is told so', async () => {
    const text = `v 0 0 0\nv 300 0 0\nv 0 300 0\nf 1 2 3\n`;
    const info = scanInfo(await readScan(new TextEncoder().encode(text), { name: 'part.obj', units: 'm' }));
    expect(info.source).toMatchObject({ format: 'obj', encoding: 'text', unit: 'm', unitFrom: 'caller' });
    expect(info.size.offers[0]).toEqual({ unit: 'mm', size: 300 });
  });

  test('nothing helps a scan of one place', () => {
    const { triangles: _, ...cloud } = cubes([0]);
    expect(scanInfo(cloud).size).toEqual({ plausible: false, offers: [] });
  });
});

describe('fettle info', () => {
  const folder = mkdtempSync(join(tmpdir(), 'fettle-info-'));
  const bin = fileURLToPath(new URL('../../packages/io/bin/fettle.js', import.meta.url));
  const fettle = (...args: string[]): Promise<{ stdout: string; stderr: string; code?: number }> =>
    promisify(execFile)(process.execPath, [bin, 'info', ...args], { cwd: folder }).catch((ended) => ended);
  writeFileSync(join(folder, 'part.obj'), 'v 0 0 0\nv 300 0 0\nv 0 300 0\nv 300 300 0\nf 1 2 3\nf 2 4 3\n');
  writeFileSync(join(folder, 'tiny.obj'), 'v 0 0 0\nv 0.3 0 0\nv 0 0.3 0\nf 1 2 3\n');
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  test('says all of it', async () => {
    const { stdout, stderr } = await fettle('part.obj');
    expect(stderr).toBe('');
    for (const fact of [/format +OBJ, text/, /points +4/, /triangles +2/, /extent +300\.0 × 300\.0 × 0\.000 mm/])
      expect(stdout).toMatch(fact);
    expect(stdout).toMatch(/units +mm, assumed: the file names none; plausible/);
    expect(stdout).toMatch(/pieces +1: all of it hangs together/);
    expect(stdout).toMatch(/holes +1 boundary loop; .* 1200\.0 mm around/);
  });

  test('--json is one document, for one scan or several', async () => {
    const one: ScanInfo = JSON.parse((await fettle('part.obj', '--json')).stdout);
    expect(one.holes).toEqual({ count: 1, longest: [1200] });
    const { stdout, code } = await fettle('part.obj', 'none.obj', '--json');
    expect(code).toBe(2);
    const { scans } = JSON.parse(stdout);
    expect(scans[0].points).toBe(4);
    expect(scans[1].error.message).toContain('none.obj');
  });

  test('names the likely unit, and takes it', async () => {
    expect((await fettle('tiny.obj')).stdout).toContain('read it with --units m');
    expect((await fettle('tiny.obj', '--units', 'm')).stdout).toMatch(/extent +300\.0 × 300\.0 × 0\.000 mm/);
  });

  test('a file that is no scan ends with 2', async () => {
    writeFileSync(join(folder, 'empty.ply'), '');
    const { code, stderr } = await fettle('empty.ply');
    expect(code).toBe(2);
    expect(stderr).toMatch(/^fettle: .*empty\.ply/);
  });
});
