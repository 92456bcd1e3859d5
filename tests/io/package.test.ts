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

/** A consumer's own settings. */
const strict = {
  compilerOptions: {
    strict: true,
    noEmit: true,
    target: 'es2023',
    lib: ['es2023', 'dom', 'dom.iterable', 'dom.asynciterable'],
    module: 'nodenext',
    skipLibCheck: false,
    types: [],
  },
};

/** The names an index lists one by one. */
function publicNames(index: string): { values: string[]; types: string[] } {
  const [values, types]: [string[], string[]] = [[], []];
  for (const [, type, list] of index.matchAll(/^export (type )?\{([^}]*)\} from/gm))
    for (const entry of list!.split(',').map((one) => one.trim())) {
      if (entry === '') continue;
      const isType = type !== undefined || entry.startsWith('type ');
      const name = entry
        .replace(/^type /, '')
        .split(' as ')
        .at(-1)!;
      (isType ? types : values).push(name);
    }
  return { values, types };
}

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

  test.each([
    ['@fettle/geom', 'packages/geom/src/index.ts'],
    ['@fettle/io', 'packages/io/src/index.ts'],
    ['@fettle/io/node', 'packages/io/src/node/index.ts'],
  ])('%s gives every public name, value or type', async (name, index) => {
    const { values, types } = publicNames(readFileSync(join(root, index), 'utf8'));
    expect(values.length).toBeGreaterThan(5);
    expect(types.length).toBeGreaterThan(3);
    writeFileSync(
      join(consumer, 'names.js'),
      `import * as all from '${name}';
console.log(${JSON.stringify(values)}.filter((one) => all[one] === undefined).join());`,
    );
    expect(node(['names.js']).trim()).toBe('');
    writeFileSync(
      join(consumer, 'names.ts'),
      `export { ${values.join(', ')}, ${types.map((one) => `type ${one}`).join(', ')} } from '${name}';`,
    );
    writeFileSync(join(consumer, 'names.json'), JSON.stringify({ ...strict, files: ['names.ts'] }));
    expect(node([join(root, 'node_modules/typescript/bin/tsc'), '-p', 'names.json'])).toBe('');
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
    writeFileSync(join(consumer, 'tsconfig.json'), JSON.stringify({ ...strict, files: ['measure.ts'] }));
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
