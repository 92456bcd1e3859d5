import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { scanComparisonTable } from '@fettle/io';
import { measureFiles, readPlan } from '@fettle/io/node';

/**
 * Measures every scan in a folder by one plan and shows them side by side: each scan's files in a folder of its own under
 * OUT, and all-scans.csv over all.
 *
 *   npx tsx examples/batch-measure.ts PLAN.json FOLDER OUT
 */
const [planFile, folder, out] = process.argv.slice(2);
if (!planFile || !folder || !out) {
  console.error('Usage: npx tsx examples/batch-measure.ts PLAN.json FOLDER OUT');
  process.exit(2);
}

const names = await readdir(folder);
const paths = names.filter((name) => /\.(ply|obj|stl|3mf|glb|xyz|csv)(\.gz)?$/i.test(name)).sort();

const { scans, summary } = await measureFiles(
  await readPlan(planFile),
  paths.map((name) => join(folder, name)),
  {
    out,
    outcomes: false,
    onProgress: ({ path, stage }) => stage === 'measured' && console.log(`${path} measured`),
  },
);

for (const { path, error } of scans) if (error) console.log(`${path} could not be measured: ${error.message}`);
console.log(scanComparisonTable(summary));
process.exitCode = scans.some(({ error }) => error) ? 2 : summary.passed ? 0 : 1;
