import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { basename } from 'node:path';
import type { ReportOptions } from '../report/html-report.js';
import { fileError } from './file-error.js';

/** What tells a scan file from every other: its name, size and SHA-256. Errors: `file-missing`, `file-unreadable`. */
export async function fileSource(path: string, signal?: AbortSignal): Promise<NonNullable<ReportOptions['source']>> {
  const hash = createHash('sha256');
  let bytes = 0;
  try {
    for await (const piece of createReadStream(path, { highWaterMark: 1 << 20 })) {
      signal?.throwIfAborted();
      hash.update(piece as Uint8Array);
      bytes += (piece as Uint8Array).length;
    }
  } catch (error) {
    throw fileError(path, error);
  }
  return { file: basename(path), sha256: hash.digest('hex'), bytes };
}
