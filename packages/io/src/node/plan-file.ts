import { open, readFile } from 'node:fs/promises';
import { FettleError, type Plan } from '@fettle/geom';
import { detectFormat, HEAD } from '../read/detect-format.js';
import { planFromText } from '../read/plan-text.js';
import { formatNames, type ScanFormat } from '../read/scan-source.js';
import { fileError } from './file-error.js';

/**
 * The plan in a JSON file, checked in full.
 *
 * @throws FettleError `file-missing`, `file-unreadable`; `plan-is-scan` for a scan in its place; `plan-not-json` with line and column;
 * PlanError (`plan-invalid`)
 */
export async function readPlan(path: string): Promise<Plan> {
  try {
    const format = await scanFormatOf(path);
    if (format !== undefined)
      throw new FettleError(
        'plan-is-scan',
        `${path}: this is a scan (${formatNames[format]}), where a plan is expected. Name the plan first, then the scans.`,
      );
    return planFromText(await readFile(path, 'utf8'), path);
  } catch (error) {
    throw fileError(path, error);
  }
}

/** The format of a scan by the first bytes of its file; undefined for what is none. */
async function scanFormatOf(path: string): Promise<ScanFormat | undefined> {
  const file = await open(path, 'r');
  try {
    const head = new Uint8Array(HEAD);
    const { bytesRead } = await file.read(head, 0, HEAD, 0);
    const { size } = await file.stat();
    const format = detectFormat(head.subarray(0, bytesRead), size, bytesRead === size, path);
    return format === 'stl-binary' || format === 'stl-text' ? 'stl' : format;
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  } finally {
    await file.close();
  }
}
