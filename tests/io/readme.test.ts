import { execFile } from 'node:child_process';
import { mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { promisify } from 'node:util';
import { checkPlan, frameOf, runPlan } from '@fettle/geom';
import { bytesOf, readScan, writePly } from '@fettle/io';
import { expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';

const root = fileURLToPath(new URL('../..', import.meta.url));
const readme = await readFile(join(root, 'README.md'), 'utf8');
const block = (language: string): string => {
  const found = new RegExp(`\`\`\`${language}\n([^]*?)\`\`\``).exec(readme);
  if (!found) throw new Error(`README.md has no block of ${language}`);
  return found[1];
};
const { scan, truth } = scanPump({ triangles: 150_000, seed: 3 });

test("the README's plan runs on the pump, and finds the hole where it is", () => {
  const results = runPlan(checkPlan(JSON.parse(block('json'))), scan);
  expect(results.passed).toBe(true);
  const hole = results.sheet.find((row) => row.id === 'hole')!;
  const [x, y] = ['x', 'y'].map((name) => hole.values.find((v) => v.name === name)!);
  // Coarser than the demo: what the sheet itself states, twice over.
  expect(Math.abs(x.value - 205.6)).toBeLessThan(2 * x.uncertainty!);
  expect(Math.abs(y.value - 62.4)).toBeLessThan(2 * y.uncertainty!);
});

test("the README's ten lines of library set the pump on its datum frame", async () => {
  const folder = await mkdtemp(join(tmpdir(), 'fettle-readme-'));
  try {
    await mkdir(join(folder, 'out'));
    await symlink(join(root, 'node_modules'), join(folder, 'node_modules'));
    await writeFile(join(folder, 'out/pump-scan.ply'), bytesOf(writePly(scan)));
    await writeFile(join(folder, 'example.mts'), block('ts'));
    const tsx = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
    await promisify(execFile)(process.execPath, ['--import', tsx, 'example.mts'], { cwd: folder });
    const written = await readScan(await readFile(join(folder, 'out/on-datum.ply')), { name: 'on-datum.ply' });
    // A place on a foot, off the feet's plane by nothing but the scan's noise and casting: z in the new frame.
    const place = frameOf(truth.frame.origin, truth.frame.x, truth.frame.y).toScan([40, 40, 0]);
    let nearest = 0;
    let least = Number.POSITIVE_INFINITY;
    for (let i = 0; i < scan.positions.length; i += 3) {
      const far = Math.hypot(...place.map((c, axis) => scan.positions[i + axis] - c));
      if (far < least) [least, nearest] = [far, i];
    }
    expect(Math.abs(written.positions[nearest + 2])).toBeLessThan(0.3);
  } finally {
    await rm(folder, { recursive: true });
  }
});
