import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { checkPlan, resultsToJson } from '@fettle/geom';
import { measureFile, measureFiles } from '@fettle/io/node';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { platePlan, platePly } from './plate.js';

const folder = mkdtempSync(join(tmpdir(), 'fettle-batch-'));
const at = (...names: string[]): string => join(folder, ...names);
const paths = ['one', 'two', 'three'].map((name) => at(`${name}.ply`));

beforeAll(() => {
  for (const [p, path] of paths.entries()) writeFileSync(path, platePly({ seed: p + 1, boreRadius: 8 + p / 20 }));
  writeFileSync(at('empty.ply'), '');
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** All files under a folder, by their paths in it. */
const contents = (root: string): Record<string, string> =>
  Object.fromEntries(
    readdirSync(root, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry) => join(entry.parentPath, entry.name))
      .sort()
      .map((file) => [file.slice(root.length + 1), readFileSync(file).toString('latin1')]),
  );

describe('measureFiles', () => {
  test('gives typed results a path, in the order of the paths, and the scans side by side', async () => {
    const { scans, summary } = await measureFiles(platePlan(), paths);
    expect(scans.map(({ path }) => path)).toEqual(paths);
    expect(scans.map(({ results }) => results?.scan.name)).toEqual(['one.ply', 'two.ply', 'three.ply']);
    expect(summary.scans).toEqual(['one', 'two', 'three']);
    const diameter = summary.rows.find((row) => row.id === 'bore' && row.name === 'diameter');
    // Diameters 16.0, 16.1, 16.2 by construction; 0.02 mm of noise on 370 points leaves some 0.002 mm.
    expect(Math.abs(diameter!.mean - 16.1)).toBeLessThan(0.01);
    expect(Math.abs(diameter!.range - 0.2)).toBeLessThan(0.02);
  });

  test('what comes out of a worker is what the steps gave: frames work, residuals are there', async () => {
    const { results } = await measureFile(platePlan(), paths[0]!);
    const frame = results!.frame!;
    const [x, y, z] = frame.toScan(frame.toFrame([1, 2, 3]));
    expect(Math.hypot(x - 1, y - 2, z - 3)).toBeLessThan(1e-12);
    expect(results!.outcomes.find((o) => o.kind === 'frame')?.frame).toBe(frame);
    const top = results!.outcomes.find((o) => o.id === 'top');
    expect(top?.kind === 'fit' && top.fit.residuals.length).toBeGreaterThan(1000);
    // Without the outcomes the sheet is the same.
    const short = await measureFile(platePlan(), paths[0]!, { outcomes: false });
    expect(short.results?.outcomes).toEqual([]);
    expect(short.results?.sheet).toEqual(results!.sheet);
    // Nor does the JSON document need them here: it is made in the worker, and the scans of a batch do not pile up.
    const { results: bare, json } = await measureFile(platePlan(), paths[0]!, { outcomes: false, json: true });
    expect(bare?.outcomes).toEqual([]);
    expect(json).toEqual(resultsToJson(results!));
    expect(short.json).toBe(undefined);
  });

  test('a scan in inches whose file names no unit is warned of, with the size each plausible unit gives, until its unit is said', async () => {
    const points = Array.from({ length: 340 }, (_, i) => `${(6.6 * (i % 20)) / 19} ${(i - (i % 20)) / 100} 0.${i % 7}`);
    writeFileSync(at('inches.xyz'), points.join('\n'));
    const plan = checkPlan({
      version: 1,
      title: 'Top',
      steps: [{ step: 'fit', id: 'top', shape: 'plane', to: 'all' }],
    });
    const doubts = async (options: { readonly units?: 'inch' }) =>
      (await measureFile(plan, at('inches.xyz'), options)).results!.warnings.filter(
        ({ code }) => code === 'implausible-extent',
      );
    // 1 inch is 25.4 mm by definition.
    expect((await doubts({})).map(({ message }) => message)).toEqual([
      expect.stringContaining('Its numbers may be inch (167.6 mm), cm (66 mm), m (6,600 mm): say which unit'),
    ]);
    expect(await doubts({ units: 'inch' })).toEqual([]);
  });

  test('results do not depend on the number of workers or the order, to the last byte', async () => {
    const forward = await measureFiles(platePlan(), paths, { out: at('by-1'), workers: 1 });
    await measureFiles(platePlan(), paths, { out: at('by-2'), workers: 2 });
    const reversed = await measureFiles(platePlan(), paths.toReversed(), { out: at('reversed'), workers: 2 });
    const one = contents(at('by-1'));
    expect(Object.keys(one)).toHaveLength(14);
    expect(contents(at('by-2'))).toEqual(one);
    const { 'all-scans.csv': _, 'files.json': __, ...others } = contents(at('reversed'));
    const { 'all-scans.csv': table, 'files.json': ___, ...expected } = one;
    expect(others).toEqual(expected);
    expect(reversed.summary.scans).toEqual(['three', 'two', 'one']);
    const figures = (rows: typeof forward.summary.rows) =>
      rows.map(({ mean, standardDeviation, range, farthest }) => ({ mean, standardDeviation, range, farthest }));
    expect(figures(reversed.summary.rows)).toEqual(figures(forward.summary.rows));
    expect(table).toContain('one,two,three');
  });

  test('scans of one name get folders of their own, numbered as they are given', async () => {
    const sub = mkdtempSync(at('sub-'));
    writeFileSync(join(sub, 'one.ply'), platePly({ seed: 9 }));
    writeFileSync(join(sub, 'ONE.obj'), platePly({ seed: 10 }));
    const names = (await measureFiles(platePlan(), [paths[0]!, join(sub, 'one.ply'), join(sub, 'ONE.obj')])).scans.map(
      ({ name }) => name,
    );
    expect(names).toEqual(['one', 'one-2', 'ONE-3']);
  });

  test('a file that cannot be read is reported in its place', async () => {
    const { scans, summary } = await measureFiles(platePlan(), [at('empty.ply'), paths[0]!, at('none.ply')], {
      workers: 1,
    });
    expect(scans.map(({ error }) => error?.name)).toEqual(['FettleError', undefined, 'FettleError']);
    expect(scans[0]?.error?.message).toContain('empty.ply');
    expect(summary.scans).toEqual(['one']);
  });

  test('when no scan can be measured nothing is written over all', async () => {
    writeFileSync(at('all-scans.csv'), 'earlier');
    const { summaryFile } = await measureFiles(platePlan(), [at('empty.ply')], { out: folder });
    expect(summaryFile).toBeUndefined();
    expect(readFileSync(at('all-scans.csv'), 'utf8')).toBe('earlier');
  });

  test('a bad plan, no scan, a wrong number of workers are refused before any scan is read', async () => {
    let read = 0;
    const onProgress = () => read++;
    await expect(measureFiles({ version: 1 }, paths, { onProgress })).rejects.toMatchObject({ code: 'plan-invalid' });
    await expect(measureFiles(platePlan(), [], { onProgress })).rejects.toMatchObject({ code: 'no-scans' });
    for (const workers of [0, -1, 1.5, Number.NaN])
      await expect(measureFiles(platePlan(), paths, { workers, onProgress })).rejects.toMatchObject({
        code: 'workers',
      });
    await expect(measureFiles(platePlan(), paths, { out: at('empty.ply'), onProgress })).rejects.toMatchObject({
      code: 'out-not-a-folder',
    });
    expect(read).toBe(0);
  });

  test('progress tells reading, every step, writing and the end of each scan', async () => {
    const stages: string[] = [];
    await measureFile(platePlan(), paths[0]!, {
      out: at('progress'),
      onProgress: (p) => {
        const stage = p.stage === 'measuring' ? p.step.id : p.stage === 'writing' ? p.file : p.stage;
        if (stages.at(-1) !== stage) stages.push(stage);
      },
    });
    expect(stages[0]).toBe('reading');
    const order = [
      'top-points',
      'bore',
      'from-front',
      'scan-in-datum.ply',
      'results.json',
      'job-sheet.csv',
      'measured',
    ];
    expect(stages.filter((stage) => order.includes(stage))).toEqual(order);
  });

  test('a signal stops it, with its reason', async () => {
    const reason = new Error('enough');
    await expect(measureFiles(platePlan(), paths, { signal: AbortSignal.abort(reason) })).rejects.toBe(reason);
    const controller = new AbortController();
    const measuring = measureFiles(platePlan(), paths, {
      workers: 1,
      out: at('stopped'),
      signal: controller.signal,
      onProgress: ({ stage }) => stage === 'measured' && controller.abort(reason),
    });
    await expect(measuring).rejects.toBe(reason);
    expect(readdirSync(at('stopped'))).not.toContain('all-scans.csv');
  });
});
