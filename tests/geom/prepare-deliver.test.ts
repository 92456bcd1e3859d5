import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createScan, type Plan, type ResultsJson } from '@fettle/geom';
import { writePly } from '@fettle/io';
import { measureFiles, openScan } from '@fettle/io/node';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { ball } from './prepare-shapes.js';

/** A ball of 14,160 triangles and a speck beside it. */
const whole = (() => {
  const { positions, triangles } = ball(40, 59);
  const first = positions.length / 3;
  return createScan({
    positions: [...positions, 90, 0, 0, 91, 0, 0, 90, 1, 0],
    triangles: [...triangles!, first, first + 1, first + 2],
  });
})();
const plan: Plan = {
  version: 1,
  title: 'Ball',
  steps: [
    { step: 'prepare', id: 'no-specks', pieces: { share: 0.01 } },
    { step: 'region', id: 'cap', sphere: { center: [0, 0, 40], radius: 20 } },
    { step: 'fit', id: 'ball', shape: 'sphere', to: 'cap' },
    { step: 'deliver', id: 'as-prepared', scan: { format: 'ply' } },
    { step: 'deliver', id: 'small', scan: { format: 'ply', simplify: { triangles: 4000 } } },
    { step: 'deliver', id: 'close', scan: { format: 'ply', simplify: { deviation: 0.2, protect: [] } } },
  ],
};

let folder: string;
let measured: Awaited<ReturnType<typeof measureFiles>>;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'prepare-deliver-'));
  await writeFile(join(folder, 'ball.ply'), Buffer.concat([...writePly(whole)]));
  measured = await measureFiles(plan, [join(folder, 'ball.ply')], { out: join(folder, 'out') });
});
afterAll(() => rm(folder, { recursive: true }));

const delivered = (name: string) => openScan(join(folder, 'out', 'ball', name));

test('what is delivered is the scan as the plan prepared it', async () => {
  const [file] = measured.scans;
  expect(file.error).toBeUndefined();
  expect(file.results?.warnings.map(({ code }) => code)).toEqual(
    expect.arrayContaining(['scan-prepared', 'scan-simplified']),
  );
  const scan = await delivered('as-prepared.ply');
  expect(scan.triangles!.length / 3).toBe(whole.triangles!.length / 3 - 1);
});

test('simplified to the number asked for, or within the deviation asked for, which results.json tells', async () => {
  const small = await delivered('small.ply');
  const close = await delivered('close.ply');
  const results = JSON.parse(await readFile(join(folder, 'out', 'ball', 'results.json'), 'utf8')) as ResultsJson;
  const [first, second] = results.simplified!;
  expect([first.id, second.id]).toEqual(['small', 'close']);
  expect(first.triangles).toBe(small.triangles!.length / 3);
  expect(second.triangles).toBe(close.triangles!.length / 3);
  expect(first.triangles).toBeLessThanOrEqual(4000);
  expect(first.triangles).toBeGreaterThan(3950);
  expect(second.deviation.max).toBeLessThanOrEqual(0.2);
  expect(second.protectedTriangles).toBe(0);
  expect(first.deviation.fromOld.count).toBe(whole.positions.length / 3 - 3);
  // The cap was fitted: none of its points is missing, to the last digit.
  const isOnCap = (x: number, y: number, z: number) => Math.hypot(x, y, z - 40) <= 20;
  const cap = (positions: Float64Array) =>
    Array.from({ length: positions.length / 3 }, (_, i) => [...positions.subarray(3 * i, 3 * i + 3)])
      .filter(([x, y, z]) => isOnCap(x, y, z))
      .map((p) => p.join());
  expect(cap(small.positions)).toEqual(cap(whole.positions));
  expect(cap(close.positions).length).toBeLessThan(0.7 * cap(whole.positions).length);
});

test('the deviation delivered is that of the file, whose points are on the ball exactly', async () => {
  const { positions, triangles } = await delivered('close.ply');
  let deepest = 0;
  for (let t = 0; t < triangles!.length; t += 3) {
    const middle = [0, 1, 2].map((k) =>
      [0, 1, 2].reduce((sum, i) => sum + positions[3 * triangles![t + i] + k] / 3, 0),
    );
    deepest = Math.max(deepest, 40 - Math.hypot(...middle));
  }
  // 0.2 from the mesh, which itself is up to the sagitta of its edges inside the ball: (40 π / 60)² / 320 across each way.
  expect(deepest).toBeLessThan(0.2 + (2 * ((40 * Math.PI) / 60) ** 2) / 320);
  expect(deepest).toBeGreaterThan(0.05);
});
