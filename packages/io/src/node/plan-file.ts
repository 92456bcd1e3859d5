import { readFile } from 'node:fs/promises';
import { buffer } from 'node:stream/consumers';
import { FettleError, type Plan } from '@fettle/geom';
import { detectFormat, HEAD } from '../read/detect-format.js';
import { planFromBytes } from '../read/plan-text.js';
import { formatNames, type ScanFormat } from '../read/scan-source.js';
import { utf16Order } from '../read/utf-16.js';
import { fileError } from './file-error.js';
import { fileName, isStdin, openPipe } from './pipe.js';

/**
 * The plan in a JSON file, or what comes through a pipe, or standard input where the path is `-`; checked in full. UTF-8, or UTF-16 as some editors save
 * it.
 *
 * @throws FettleError `file-missing`, `file-unreadable`, `stdin-is-terminal`; `plan-is-scan` for a scan in its place; `plan-not-json` with line
 * and column; PlanError (`plan-invalid`)
 */
export async function readPlan(path: string): Promise<Plan> {
  try {
    const pipe = await openPipe(path);
    const bytes = pipe === undefined ? await readFile(path) : await buffer(pipe);
    const format = utf16Order(bytes) === undefined ? scanFormatOf(bytes, path) : undefined;
    if (format !== undefined)
      throw new FettleError(
        'plan-is-scan',
        `${path}: this is a scan (${formatNames[format]}), where a plan is expected. Name the plan first, then the scans.`,
      );
    return planFromBytes(bytes, isStdin(path) ? fileName(path) : path);
  } catch (error) {
    throw fileError(path, error);
  }
}

/** The format of a scan; undefined for what is none. */
function scanFormatOf(bytes: Uint8Array, path: string): ScanFormat | undefined {
  try {
    const format = detectFormat(bytes.subarray(0, HEAD), bytes.length, bytes.length <= HEAD, path);
    return format === 'stl-binary' || format === 'stl-text' ? 'stl' : format;
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  }
}
