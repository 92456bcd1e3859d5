import { del, get, set } from 'idb-keyval';
import type { OpenOptions } from '../worker/protocol.js';
import type { HistoryState } from './history.js';

/** The scan a session works on: a file, or the demo. */
export type ScanOrigin = { readonly file: Blob; readonly options: OpenOptions } | 'pump';

/** Where a session is kept, so that a reload or a crash loses nothing. Saving rejects with what the store says. */
export interface Keep {
  loadScan(): Promise<ScanOrigin | undefined>;
  loadHistory(): Promise<HistoryState | undefined>;
  saveScan(origin: ScanOrigin | undefined): Promise<void>;
  saveHistory(history: HistoryState): Promise<void>;
}

/** The browser's own storage. */
export const browserKeep: Keep = {
  loadScan: () => get<ScanOrigin>('scan'),
  loadHistory: () => get<HistoryState>('history'),
  async saveScan(origin) {
    // What was there goes first: two large scans may not fit side by side.
    await del('scan');
    if (origin !== undefined) await set('scan', origin);
  },
  saveHistory: (history) => set('history', history),
};

export const isFull = (error: unknown): boolean => error instanceof DOMException && error.name === 'QuotaExceededError';
