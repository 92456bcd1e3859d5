import { readFile } from 'node:fs/promises';
import { buffer } from 'node:stream/consumers';
import { FettleError, type Plan } from '@fettle/geom';
import { detectFormat, HEAD } from '../read/detect-format.js';
import { planFromText } from '../read/plan-text.js';
import { formatNames, type ScanFormat } from '../read/scan-source.js';
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
    const encoding = encodingOf(bytes);
    const format = encoding === 'utf-8' ? scanFormatOf(bytes, path) : undefined;
    if (format !== undefined)
      throw new FettleError(
        'plan-is-scan',
        `${path}: this is a scan (${formatNames[format]}), where a plan is expected. Name the plan first, then the scans.`,
      );
    return planFromText(new TextDecoder(encoding).decode(bytes), isStdin(path) ? fileName(path) : path);
  } catch (error) {
    throw fileError(path, error);
  }
}

/** The encoding of a JSON text: by its mark, else by where zeros stand among its first characters, which are of ASCII (RFC 4627, 3). */
function encodingOf(bytes: Uint8Array): 'utf-8' | 'utf-16le' | 'utf-16be' {
  const [first, second] = bytes;
  if (first === 0xff && second === 0xfe) return 'utf-16le';
  if (first === 0xfe && second === 0xff) return 'utf-16be';
  if (bytes.length < 2 || (first === 0) === (second === 0)) return 'utf-8';
  return first === 0 ? 'utf-16be' : 'utf-16le';
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
