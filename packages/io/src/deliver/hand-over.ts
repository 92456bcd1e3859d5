import { type Results, type Scan, simplifyDeliveries, withFailedStep } from '@fettle/geom';
import { type OutputFile, type OutputFileOptions, outputFiles } from './output-files.js';

export interface HandOverOptions extends OutputFileOptions {
  readonly signal?: { readonly aborted: boolean };
  /** Whether after an error of `make` no file can be made, as on a full disk: it is thrown on. */
  endsAll?(error: unknown): boolean;
}

/** What was handed over. */
export interface HandedOver {
  /** With the deliveries simplified, and those that could not be made among the failed steps. */
  readonly results: Results;
  /** Names of the files made, in the order of {@link outputFiles}. */
  readonly files: readonly string[];
}

/**
 * Makes the files of what a plan gave, for the command and the page alike. A delivery that fails keeps no other from being made. What tells
 * of failed steps is made last: reports, and after them the job sheet and the results.
 *
 * @param results deliveries are simplified here where that was not done
 * @param make makes one file and puts it where it belongs; where it throws, the step that asks for the file has failed
 * @throws what `make` throws of a file no step asks for, and what ends all; the signal's error once it is aborted
 */
export async function handOver(
  results: Results,
  scan: Scan,
  make: (file: OutputFile) => Promise<void> | void,
  options: HandOverOptions = {},
): Promise<HandedOver> {
  let now = await simplifyDeliveries(results, scan, options.signal);
  const planned = outputFiles(now, scan, options);
  const made = new Set<string>();
  for (const one of planned.toSorted((a, b) => turn(a) - turn(b))) {
    const { name } = one;
    // What tells of failures is of the results as they are when its turn comes.
    const file = one.tellsFailures ? outputFiles(now, scan, options).find((now) => now.name === name)! : one;
    try {
      await make(file);
      made.add(name);
    } catch (error) {
      if (options.signal?.aborted || file.step === undefined || options.endsAll?.(error)) throw error;
      now = withFailedStep(now, file.step, error);
    }
  }
  return { results: now, files: planned.map(({ name }) => name).filter((name) => made.has(name)) };
}

/** Who comes first: scans, drawings and the like; then reports; then the sheet and the results. */
const turn = ({ step, tellsFailures }: OutputFile): number => (tellsFailures ? (step === undefined ? 2 : 1) : 0);
