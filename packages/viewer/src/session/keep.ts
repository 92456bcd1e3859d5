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
  /** @returns how much of it: all, or only the plan in place, without what could be undone */
  saveHistory(history: HistoryState): Promise<'all' | 'plan'>;
}

const SCAN = 'scan';
const HISTORY = 'history';

/** The browser's own storage. */
export const browserKeep: Keep = {
  loadScan: () => get<ScanOrigin>(SCAN),
  loadHistory: async () => beside() ?? (await get<HistoryState>(HISTORY)),
  async saveScan(origin) {
    // What was there goes first: two large scans may not fit side by side.
    await del(SCAN);
    if (origin !== undefined) await set(SCAN, origin);
  },
  async saveHistory(history) {
    try {
      await set(HISTORY, history);
    } catch (error) {
      const kept = keepBeside(history);
      if (kept === undefined) throw error;
      return kept;
    }
    localStorage.removeItem(HISTORY);
    return 'all';
  },
};

/** Browsers keep this store apart from the one of scans: a scan that fills that leaves room here. */
function keepBeside({ plans, at }: HistoryState): 'all' | 'plan' | undefined {
  const inPlace: HistoryState = { plans: [plans[at]!], at: 0 };
  if (isPut({ plans, at })) return 'all';
  return isPut(inPlace) ? 'plan' : undefined;
}

function isPut(history: HistoryState): boolean {
  try {
    localStorage.setItem(HISTORY, JSON.stringify(history));
    return true;
  } catch {
    return false;
  }
}

function beside(): HistoryState | undefined {
  try {
    const text = localStorage.getItem(HISTORY);
    return text === null ? undefined : (JSON.parse(text) as HistoryState);
  } catch {
    return undefined;
  }
}

/** Older browsers make this a name of a `DOMException`, newer ones a class of its own; both have the name. */
export const isFull = (error: unknown): boolean => (error as Error | undefined)?.name === 'QuotaExceededError';
