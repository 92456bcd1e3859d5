import { execFile } from 'node:child_process';
import { mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { promisify } from 'node:util';
import * as geom from '@fettle/geom';
import * as io from '@fettle/io';
import * as ioNode from '@fettle/io/node';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { part } from '../geom/plan-part.js';

// The block's true sizes are plain numbers: see plan-part.ts. Its hole is ⌀ 16.

const root = fileURLToPath(new URL('../..', import.meta.url));
const readmeOf = (name: string): Promise<string> => readFile(join(root, 'packages', name, 'README.md'), 'utf8');
const [ofGeom, ofIo] = await Promise.all(['geom', 'io'].map(readmeOf));
const example = (readme: string): string => /```ts\n([\s\S]*?)```/.exec(readme)![1]!;
const folder = await mkdtemp(join(tmpdir(), 'fettle-package-readme-'));

const plan = {
  version: 1,
  title: 'Block',
  steps: [
    { step: 'region', id: 'top-skin', sphere: { center: [60, 60, 0], radius: 20 } },
    { step: 'fit', id: 'top', shape: 'plane', to: 'top-skin' },
  ],
};

beforeAll(async () => {
  const { scan, axes } = part({ noise: 0.02 });
  const inOwnAxes = geom.transformScan(scan, axes);
  await symlink(join(root, 'node_modules'), join(folder, 'node_modules'));
  await writeFile(join(folder, 'block.ply'), io.bytesOf(io.writePly(inOwnAxes)));
  await writeFile(join(folder, 'plan.json'), JSON.stringify(plan));
});
afterAll(() => rm(folder, { recursive: true }));

const run = async (code: string): Promise<string> => {
  await writeFile(join(folder, 'example.mts'), code);
  const tsx = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
  return (await promisify(execFile)(process.execPath, ['--import', tsx, 'example.mts'], { cwd: folder })).stdout;
};

describe('the ten lines of a package README', () => {
  test('@fettle/geom: the block is set on its datums, and the bore has its diameter', async () => {
    const code = example(ofGeom!);
    const told = await run(
      `${code}\nconsole.log(JSON.stringify([frame.toFrame(bore.feature.point), bore.feature.radius]));`,
    );
    const [[x, y], radius] = JSON.parse(told.trim().split('\n').at(-1)!) as [geom.Vec3, number];
    // Half as deep as the bore, which leans by what its ± allows.
    expect(Math.hypot(x, y)).toBeLessThan(0.05);
    expect(radius).toBeCloseTo(8, 1);
    expect(told).toMatch(/axis ± 0\.0\d+ mm in its worst direction, radius ± 0\.0\d+ mm/);
  });

  test('@fettle/io: the job sheet, the report and the scan as STL', async () => {
    expect(await run(example(ofIo!))).toMatch(/top +offset +-?0\.00\d ± 0\.0/);
    expect(await readFile(join(folder, 'report.html'), 'utf8')).toContain('<title>');
    const scan = await io.readScan(await readFile(join(folder, 'block.stl')), { name: 'block.stl', units: 'mm' });
    expect(scan.triangles!.length).toBeGreaterThan(1000);
  });
});

test.each([
  ['geom', ofGeom!, geom],
  ['io', ofIo!, { ...io, ...ioNode }],
] as const)('every function the README of %s lists is exported', (_, readme, entry) => {
  const rows = readme.split('\n').filter((line) => line.startsWith('|'));
  const names = rows.flatMap((row) => [...row.matchAll(/`([a-z]\w+)`/g)].map(([, name]) => name!));
  expect(names.length).toBeGreaterThan(10);
  expect(names.filter((name) => typeof (entry as Record<string, unknown>)[name] !== 'function')).toEqual([]);
});

test.each([
  ['geom', ['CHANGELOG.md', 'METHODS.md', 'PLANS.md']],
  ['io', ['CHANGELOG.md']],
])('the published package %s holds its papers', async (name, papers) => {
  const { files, version } = JSON.parse(await readFile(join(root, 'packages', name, 'package.json'), 'utf8'));
  expect(files).toEqual(expect.arrayContaining(papers));
  const changes = await readFile(join(root, 'packages', name, 'CHANGELOG.md'), 'utf8');
  expect(changes).toContain(`\n## ${version}`);
});
