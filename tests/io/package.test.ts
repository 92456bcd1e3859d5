import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const consumer = mkdtempSync(join(tmpdir(), 'fettle-consumer-'));

const npm = (args: readonly string[], cwd: string): string =>
  execFileSync('npm', args, { cwd, encoding: 'utf8', stdio: ['ignore', 'pipe', 'pipe'] });
const node = (args: readonly string[]): string =>
  execFileSync(process.execPath, args, { cwd: consumer, encoding: 'utf8' });

/** The packages as they would be published, installed in a folder that knows nothing of this repository. */
beforeAll(() => {
  for (const name of ['geom', 'io']) npm(['pack', '--pack-destination', consumer], join(root, 'packages', name));
  writeFileSync(join(consumer, 'package.json'), JSON.stringify({ private: true, type: 'module' }));
  const tarballs = readdirSync(consumer).filter((file) => file.endsWith('.tgz'));
  expect(tarballs).toHaveLength(2);
  npm(['install', '--prefer-offline', '--no-audit', '--no-fund', ...tarballs.map((file) => `./${file}`)], consumer);
});

afterAll(() => rmSync(consumer, { recursive: true, force: true }));

describe('the packed packages, installed elsewhere', () => {
  test('are imported by name', () => {
    writeFileSync(
      join(consumer, 'import.js'),
      `import { fitPlane, runPlan } from '@fettle/geom';
import { jobSheetTable, readScan, writePly } from '@fettle/io';
import { measureFiles, openScan } from '@fettle/io/node';
console.log([fitPlane, runPlan, jobSheetTable, readScan, writePly, measureFiles, openScan].map((f) => typeof f).join());`,
    );
    expect(node(['import.js']).trim()).toBe(new Array(7).fill('function').join());
  });

  test('fit a plane', () => {
    writeFileSync(
      join(consumer, 'fit.js'),
      `import { fitPlane } from '@fettle/geom';
const { feature } = fitPlane({ positions: Float64Array.of(0, 0, 5, 10, 0, 5, 0, 10, 5, 10, 10, 5) });
console.log(Math.abs(feature.normal[2]), feature.point[2]);`,
    );
    expect(node(['fit.js']).trim()).toBe('1 5');
  });

  test('bring types that a strict program checks against, down to their declarations', () => {
    writeFileSync(
      join(consumer, 'measure.ts'),
      `import { type Fit, FettleError, fitPlane, type Plane, type Results, type Scan, type Vec3 } from '@fettle/geom';
import { jobSheetTable, readScan } from '@fettle/io';
import { measureFiles, openScan } from '@fettle/io/node';

const scan: Scan = await openScan('pump.ply');
const top: Fit<Plane> = fitPlane(scan, { reject: 3 });
const normal: Vec3 = top.feature.normal;
const { scans, summary } = await measureFiles({}, ['a.ply', 'b.ply'], { workers: 2 });
const sheets: string[] = scans.flatMap(({ results }) => (results ? [jobSheetTable(results)] : []));
const first: Results | FettleError = scans[0].results ?? scans[0].error;
export { first, normal, readScan, sheets, summary };`,
    );
    writeFileSync(
      join(consumer, 'tsconfig.json'),
      JSON.stringify({
        compilerOptions: {
          strict: true,
          noEmit: true,
          target: 'es2023',
          lib: ['es2023', 'dom', 'dom.iterable', 'dom.asynciterable'],
          module: 'nodenext',
          skipLibCheck: false,
          types: [],
        },
        files: ['measure.ts'],
      }),
    );
    const check = () => node([join(root, 'node_modules/typescript/bin/tsc'), '-p', '.']);
    expect(check()).toBe('');
    // The check checks: a wrong use is refused.
    const source = readFileSync(join(consumer, 'measure.ts'), 'utf8');
    writeFileSync(join(consumer, 'measure.ts'), source.replace('reject: 3', "reject: 'three'"));
    expect(check).toThrow();
  });

  test('bring the command', () => {
    const { version } = JSON.parse(readFileSync(join(root, 'packages/io/package.json'), 'utf8'));
    expect(npm(['exec', '--no', 'fettle', '--', '--version'], consumer).trim()).toBe(version);
  });

  test('hold what they need and nothing of the workshop', () => {
    for (const name of ['geom', 'io']) {
      const files = readdirSync(join(consumer, 'node_modules/@fettle', name), { recursive: true, encoding: 'utf8' });
      expect(files).toContain('package.json');
      expect(files).toContain(join('dist', 'index.d.ts'));
      expect(files.filter((file) => /tsbuildinfo|\.test\.|fixtures/.test(file))).toEqual([]);
    }
  });
});
