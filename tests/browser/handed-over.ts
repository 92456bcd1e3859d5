import { execFile } from 'node:child_process';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import type { ResultsJson } from '@fettle/geom';
import { strFromU8, unzipSync } from 'fflate';

const COMMAND = fileURLToPath(new URL('../../packages/io/bin/fettle.js', import.meta.url));

/** What the page handed over, and what the command makes of the plan among it on the same scan. */
export interface Replayed {
  /** Names of the files in the zip. */
  readonly names: readonly string[];
  readonly page: ResultsJson;
  readonly command: ResultsJson;
  readonly sheets: { readonly page: string; readonly command: string };
  /** The page's STEP file. */
  readonly step: Uint8Array;
}

/** Unpacks a zip in a folder and measures the scan by its plan with `fettle measure`. */
export async function replayed(zip: Uint8Array, scan: Uint8Array, folder: string): Promise<Replayed> {
  const files = unzipSync(zip);
  const names = Object.keys(files);
  const step = names.find((name) => name.endsWith('.step'));
  if (!step) throw new Error(`no STEP file among ${names.join(', ')}`);
  await mkdir(folder, { recursive: true });
  const [planPath, scanPath, out] = ['plan.json', 'pump-scan.ply', 'out'].map((name) => join(folder, name)) as [
    string,
    string,
    string,
  ];
  await writeFile(planPath, files['plan.json']!);
  await writeFile(scanPath, scan);
  await promisify(execFile)(process.execPath, [COMMAND, 'measure', planPath, scanPath, '--out', out]);
  const text = (name: string): string => strFromU8(files[name]!);
  return {
    names,
    page: JSON.parse(text('results.json')) as ResultsJson,
    command: JSON.parse(await readFile(join(out, 'results.json'), 'utf8')) as ResultsJson,
    sheets: { page: text('job-sheet.csv'), command: await readFile(join(out, 'job-sheet.csv'), 'utf8') },
    step: files[step]!,
  };
}
