import { readFileSync } from 'node:fs';
import { checkPlan, type Frame, type Plan, runPlan, type Scan, type Vec3 } from '@fettle/geom';
import { bytesOf, readScan, writePly, writeStl } from '@fettle/io';
import { expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { part } from './plan-part.js';

const plan: Plan = checkPlan(
  JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8')),
);
const upToFrame = plan.steps.slice(0, 1 + plan.steps.findIndex(({ step }) => step === 'frame'));

const away = (a: Vec3, b: Vec3): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

test('a mesh without stored normals faces as its triangles do: the pump as STL has the frame it has as PLY', async () => {
  const { scan, truth } = scanPump({ triangles: 60_000 });
  const ply = await readScan(bytesOf(writePly(scan)), { name: 'pump.ply' });
  const stl = await readScan(bytesOf(writeStl(scan)), { name: 'pump.stl' });
  expect(ply.normals).toBeDefined();
  expect(stl.normals).toBeUndefined();
  const [one, other] = [ply, stl].map((s): Frame => runPlan({ ...plan, steps: upToFrame }, s).frame!);
  // STL keeps single precision, 0.00003 mm here, and corners in another order: a few points more or less in a region.
  expect(away(one.origin, other.origin)).toBeLessThan(0.01);
  for (const axis of ['x', 'y', 'z'] as const) {
    expect(away(one[axis], other[axis])).toBeLessThan(1e-4);
    expect(away(other[axis], truth.frame[axis])).toBeLessThan(1e-3);
  }
});

/** The block of plan-part.ts, each face as it is stored or turned inside out. */
function faceOf({ normals: _n, ...scan }: Scan, turned: boolean) {
  const triangles = scan.triangles!.slice();
  if (turned) for (let t = 0; t < triangles.length; t += 3) triangles.subarray(t, t + 2).reverse();
  return runPlan(topOnly, { ...scan, triangles });
}
const { scan: block, axes } = part();
const topOnly = checkPlan({
  version: 1,
  title: 'Top of a block',
  steps: [
    { step: 'region', id: 'skin', sphere: { center: axes.toScan([70, 40, 0]), radius: 12 } },
    { step: 'fit', id: 'top', shape: 'plane', to: 'skin' },
    { step: 'construct', id: 'origin', point: axes.toScan([0, 0, 0]) },
    { step: 'construct', id: 'far', point: axes.toScan([100, 0, 0]) },
    { step: 'construct', id: 'edge', through: ['origin', 'far'] },
    { step: 'frame', id: 'datum', plane: 'top', line: 'edge', origin: 'origin' },
  ],
});

test('a face turned inside out gives the opposite normal', () => {
  expect(away(faceOf(block, false).frame!.z, axes.z)).toBeLessThan(1e-9);
  expect(away(faceOf(block, true).frame!.z, [-axes.z[0], -axes.z[1], -axes.z[2]])).toBeLessThan(1e-9);
});

test('a cloud without normals faces by rule, its largest component positive, and the frame says so', () => {
  const { normals: _n, triangles: _t, ...cloud } = block;
  const results = runPlan(topOnly, cloud);
  expect(Math.max(...results.frame!.z)).toBeGreaterThan(-Math.min(...results.frame!.z));
  const row = results.sheet.find(({ id }) => id === 'datum')!;
  expect(row.warnings.map(({ code }) => code)).toContain('side-by-rule');
  expect(runPlan(topOnly, block).sheet.flatMap(({ warnings }) => warnings.map(({ code }) => code))).not.toContain(
    'side-by-rule',
  );
});
