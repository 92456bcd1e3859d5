import type { OpenedScan } from '../worker/protocol.js';
import type { KeptHistory, ScanOrigin } from './keep.js';

/** What tells the scan that was opened from others: of its bytes where the page can, else of its file. */
export function fingerprintOf(from: ScanOrigin, { sha256, name }: OpenedScan): string {
  if (from === 'pump') return from;
  const { file } = from;
  return sha256 ?? `${name} ${file.size} ${file instanceof File ? file.lastModified : ''}`;
}

/** Whether a plan was last run on another scan than the one kept: another page may have put its own in the place of it. */
export function isOfAnother({ scan }: KeptHistory, kept: ScanOrigin): boolean {
  const own = kept === 'pump' ? kept : kept.fingerprint;
  return scan !== undefined && own !== undefined && scan !== own;
}
