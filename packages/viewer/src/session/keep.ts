import { del, delMany, get, keys, set } from 'idb-keyval';
import type { OpenOptions } from '../worker/protocol.js';
import type { HeldJob } from './held-job.js';
import type { HistoryState } from './history.js';

/** The scan a session works on: a file, with what tells it from others, or the demo. */
export type ScanOrigin =
  | { readonly file: Blob; readonly options: OpenOptions; readonly fingerprint?: string | undefined }
  | 'pump';

/** Plans, and the fingerprint of the scan they were last run on. */
export interface KeptHistory extends HistoryState {
  readonly scan?: string | undefined;
}

/** Where a session is kept, so that a reload or a crash loses nothing. Saving rejects with what the store says. */
export interface Keep {
  loadScan(): Promise<ScanOrigin | undefined>;
  loadHistory(): Promise<KeptHistory | undefined>;
  saveScan(origin: ScanOrigin | undefined): Promise<void>;
  /** Takes out the scans of jobs that no tab has. */
  forgetLeftScans(): Promise<void>;
  /** @returns how much of it: all, or only the plan in place, without what could be undone */
  saveHistory(history: KeptHistory): Promise<'all' | 'plan'>;
}

/** The browser's own storage. @param job which of the jobs kept there */
export function browserKeep(job: Promise<Pick<HeldJob, 'number' | 'held'>>): Keep {
  const key = async (name: string): Promise<string> => keyOf(name, (await job).number);
  return {
    loadScan: async () => await get<ScanOrigin>(await key('scan')),
    async loadHistory() {
      const name = await key('history');
      return beside(name) ?? (await get<KeptHistory>(name));
    },
    async saveScan(origin) {
      const name = await key('scan');
      // What was there goes first: two large scans may not fit side by side.
      await del(name);
      if (origin !== undefined) await set(name, origin);
    },
    async forgetLeftScans() {
      const { held } = await job;
      const open = new Set((await held()).map((number) => keyOf('scan', number)));
      await delMany((await keys()).filter((name) => /^scan(-\d+)?$/.test(String(name)) && !open.has(String(name))));
    },
    async saveHistory(history) {
      const name = await key('history');
      try {
        await set(name, history);
      } catch (error) {
        const kept = keepBeside(name, history);
        if (kept === undefined) throw error;
        return kept;
      }
      localStorage.removeItem(name);
      return 'all';
    },
  };
}

const keyOf = (name: string, job: number): string => (job === 1 ? name : `${name}-${job}`);

/** Browsers keep this store apart from the one of scans: a scan that fills that leaves room here. */
function keepBeside(name: string, history: KeptHistory): 'all' | 'plan' | undefined {
  if (isPut(name, history)) return 'all';
  return isPut(name, { ...history, plans: [history.plans[history.at]!], at: 0 }) ? 'plan' : undefined;
}

function isPut(name: string, history: KeptHistory): boolean {
  try {
    localStorage.setItem(name, JSON.stringify(history));
    return true;
  } catch {
    return false;
  }
}

function beside(name: string): KeptHistory | undefined {
  try {
    const text = localStorage.getItem(name);
    return text === null ? undefined : (JSON.parse(text) as KeptHistory);
  } catch {
    return undefined;
  }
}

/** Older browsers make this a name of a `DOMException`, newer ones a class of its own; both have the name. */
export const isFull = (error: unknown): boolean => (error as Error | undefined)?.name === 'QuotaExceededError';
