import { execFile } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { checkPlan, keepReference, runPlan, type Scan, scanOfReference, seededRandom } from '@fettle/geom';
import { writePly } from '@fettle/io';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { anyPose, bracket, posed, scanOf } from '../geom/align-bodies.js';

const bin = fileURLToPath(new URL('../../packages/io/bin/fettle.js', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'fettle-reference-'));
const at = (name: string): string => join(folder, name);

const first: Scan = scanOf(bracket(), 'first.ply', { density: 1.2 });
/** Three faces of the bracket, a frame on them, and how far its post stands from two of them: 70 and 35 mm by `bracket`. */
const plan = {
  version: 1,
  title: 'A bracket',
  steps: [
    { step: 'region', id: 'base-skin', box: { min: [65, 5, -1], max: [98, 18, -0.5] } },
    { step: 'region', id: 'under', box: { min: [5, 5, -1], max: [95, 55, 1] } },
    { step: 'region', id: 'left-skin', box: { min: [-1, 5, 5], max: [1, 55, 65] } },
    { step: 'region', id: 'front-skin', box: { min: [5, -1, 2], max: [95, 1, 8] } },
    { step: 'region', id: 'post-skin', box: { min: [55, 20, 15], max: [85, 50, 34] } },
    { step: 'fit', id: 'bottom', shape: 'plane', to: 'under' },
    { step: 'fit', id: 'left', shape: 'plane', to: 'left-skin' },
    { step: 'fit', id: 'front', shape: 'plane', to: 'front-skin' },
    { step: 'fit', id: 'post', shape: 'cylinder', to: 'post-skin' },
    { step: 'construct', id: 'edge', intersect: ['bottom', 'front'] },
    { step: 'construct', id: 'corner', intersect: ['bottom', 'front', 'left'] },
    { step: 'frame', id: 'datum', plane: 'bottom', line: 'edge', origin: 'corner', plus: { plane: 'z', line: 'x' } },
    { step: 'measure', id: 'from-left', distance: ['post', 'corner'] },
  ].filter(({ id }) => id !== 'base-skin'),
};

const pose = anyPose(seededRandom(8));
const next = posed(scanOf(bracket(), 'x', { density: 1, seed: 3 }), pose);

beforeAll(async () => {
  writeFileSync(at('plan.json'), JSON.stringify(plan));
  for (const [name, scan] of [
    ['first.ply', first],
    ['next.ply', next],
  ] as const) {
    const parts: Uint8Array[] = [];
    for await (const part of writePly(scan)) parts.push(part);
    writeFileSync(at(name), Buffer.concat(parts));
  }
});
afterAll(() => rmSync(folder, { recursive: true }));

const fettle = (...args: string[]): Promise<{ code?: number; stdout: string; stderr: string }> =>
  promisify(execFile)(process.execPath, [bin, ...args], { cwd: folder }).catch((ended) => ended);

describe('a plan with a reference', () => {
  test('measures a scan in other axes, and says how it was laid', { timeout: 240_000 }, async () => {
    const kept = await fettle('measure', 'plan.json', 'first.ply', '--keep-reference', 'kept.json');
    expect(kept.stderr).toBe('');
    const text = readFileSync(at('kept.json'), 'utf8');
    expect(text.length).toBeLessThan(1_000_000);
    const before = JSON.parse((await fettle('measure', 'kept.json', 'first.ply', '--json')).stdout);
    const after = JSON.parse((await fettle('measure', 'kept.json', 'next.ply', '--json')).stdout);
    const rows = (results: { sheet: { id: string; values: { value: number; uncertainty: number }[] }[] }) =>
      new Map(results.sheet.map(({ id, values }) => [id, values]));
    // The post is a cylinder of 12 mm at 70, 35 from the corner: `bracket`.
    for (const results of [before, after]) {
      const diameter = rows(results)
        .get('post')!
        .find(({ value }) => Math.abs(value - 24) < 1)!;
      expect(Math.abs(diameter.value - 24)).toBeLessThan(2 * diameter.uncertainty);
      const [distance] = rows(results).get('from-left')!;
      expect(Math.abs(distance!.value - Math.hypot(70, 35))).toBeLessThan(2 * distance!.uncertainty);
    }
    const sheet = (await fettle('measure', 'kept.json', 'next.ply')).stdout;
    expect(sheet).toMatch(/Reference: laid on it; \d+ % of the scan in common, rms 0\.\d+ mm there\./);
    expect((await fettle('measure', 'kept.json', 'first.ply')).stdout).toMatch(/Reference: lay on it already;/);
  });

  test('is not run on a scan that lies elsewhere: its places would be other places', () => {
    const withReference = checkPlan({ ...plan, reference: keepReference(first) });
    expect(() => runPlan(withReference, next)).toThrow(/next\.ply does not lie where the plan's reference does/);
    expect(runPlan(withReference, first).laid?.inPlace).toBe(true);
  });

  test('that was cut short is refused', () => {
    const kept = keepReference(first);
    expect(() => scanOfReference({ ...kept, surface: kept.surface.slice(0, -8) })).toThrow(
      /ask for \d+\. Keep it anew/,
    );
  });

  test('keeps places to half a step and normals to a degree, of as many pieces as it says', () => {
    const kept = keepReference(first);
    const { positions, normals } = scanOfReference(kept);
    expect(positions.length).toBe(3 * kept.pieces);
    // Every piece lies on a face of the bracket: the base's top, z = 10, and its underside.
    let off = 0;
    let count = 0;
    for (let i = 0; i < positions.length; i += 3)
      if (normals![i + 2]! < -0.999) {
        off += Math.abs(positions[i + 2]!);
        count++;
      }
    expect(count).toBeGreaterThan(100);
    expect(off / count).toBeLessThan(0.03);
  });
});
