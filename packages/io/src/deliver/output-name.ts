import type { DeliverStep, Plan } from '@fettle/geom';

/** What every measuring gives, whatever the plan asks for. */
export const RESULTS = 'results.json';
export const JOB_SHEET = 'job-sheet.csv';
/** The table over all scans of a batch. */
export const ALL_SCANS = 'all-scans.csv';
/** What lists the others: written when all of them are in place. */
export const FILE_LIST = 'files.json';

/** Names Windows keeps for devices, with whatever ending. */
export const DEVICE = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i;

/** The name of the file a `deliver` step asks for: its id, and an ending by its kind. */
export function deliveredName(deliver: DeliverStep): string {
  // No id has an underscore, so that it stays the only file of its name.
  const id = DEVICE.test(deliver.id) ? `${deliver.id}_` : deliver.id;
  if ('cad' in deliver) return `${id}.step`;
  if ('drawing' in deliver) return `${id}.svg`;
  if ('picture' in deliver) return `${id}.png`;
  if ('report' in deliver) return `${id}.html`;
  const { format, units = 'mm' } = deliver.scan;
  // What no program reads from the file, a person can read from its name.
  const unitInName = format === '3mf' || units === 'mm' ? '' : `.${units}`;
  return `${id}${unitInName}.${format}`;
}

/** The name of the scan set on a frame, which a plan gives that asks for no files. */
export const scanInFrameName = (frameId: string): string => `scan-in-${frameId}.ply`;

/** The names of all files a plan can give, before it is run. */
export function outputNames({ steps }: Plan): string[] {
  const asked = steps.flatMap((step) => (step.step === 'deliver' ? [deliveredName(step)] : []));
  const unasked = steps.flatMap((step) => (step.step === 'frame' ? [scanInFrameName(step.id)] : []));
  return [RESULTS, JOB_SHEET, FILE_LIST, ...(asked.length > 0 ? asked : unasked)];
}
