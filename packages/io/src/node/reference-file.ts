import { FettleError, keepReference, layOnReference, type Plan } from '@fettle/geom';
import { openScan } from './files.js';
import type { ReadingOptions } from './measure-scan.js';
import { fileName } from './pipe.js';
import { writeFileWhole } from './write-whole.js';

/** Writes a plan with what a scan shows as its reference. A plan that has one keeps its axes: the scan is laid on it first. */
export async function writeWithReference(
  file: string,
  plan: Plan,
  path: string,
  { units, keepWhole, unpackedMost }: ReadingOptions,
): Promise<void> {
  if (path === '-')
    throw new FettleError(
      'reference-of-pipe',
      'Standard input is read once only: name the file of the scan to keep as a reference.',
    );
  const scan = await openScan(path, {
    name: fileName(path),
    ...(units !== undefined && { units }),
    ...(keepWhole !== undefined && { keepWhole }),
    ...(unpackedMost !== undefined && { unpackedMost }),
  });
  const reference = keepReference(layOnReference(plan, scan));
  await writeFileWhole(file, [new TextEncoder().encode(`${JSON.stringify({ ...plan, reference })}\n`)]);
}
