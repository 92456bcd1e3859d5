/** Jobs that are kept at once, a tab each. */
const MOST = 20;
/** A tab that is loaded again may be there before it has let go of its job, ms. */
const LETTING_GO = 2000;
/** Where a tab remembers its job over a reload. */
const OWN = 'fettle-job';
/** Where the browser remembers the job of the tab that was left last. */
const LAST = 'fettle-last-job';

/** Which of the jobs kept in this browser is this tab's, from 1. */
export interface HeldJob {
  readonly number: number;
  /** Whether no other tab has one. */
  readonly isAlone: boolean;
}

/**
 * Holds a job until the tab is closed: the one it had before it was loaded again, else the one that was left last, else the first that
 * no other tab has. Without locks, as on a page served without a secure connection, all tabs have the first.
 */
export async function holdJob(): Promise<HeldJob> {
  if (globalThis.navigator?.locks === undefined) return { number: 1, isAlone: true };
  try {
    const number = await hold();
    const remember = () => localStorage.setItem(LAST, String(number));
    sessionStorage.setItem(OWN, String(number));
    remember();
    addEventListener('pagehide', remember);
    const { held = [] } = await navigator.locks.query();
    return { number, isAlone: held.every(({ name }) => !name?.startsWith(OWN) || name === lockOf(number)) };
  } catch {
    // A browser that bars the page from its storage keeps nothing either.
    return { number: 1, isAlone: true };
  }
}

async function hold(): Promise<number> {
  const own = Number(sessionStorage.getItem(OWN));
  if (own > 0 && (await holds(own, { signal: AbortSignal.timeout(LETTING_GO) }))) return own;
  const last = Number(localStorage.getItem(LAST));
  if (last > 0 && (await holds(last, { ifAvailable: true }))) return last;
  for (let job = 1; job <= MOST; job++) if (await holds(job, { ifAvailable: true })) return job;
  return MOST + 1;
}

const lockOf = (job: number): string => `${OWN}-${job}`;

const holds = (job: number, options: LockOptions): Promise<boolean> =>
  new Promise((resolve) => {
    const granted = (lock: Lock | null): Promise<never> | undefined => {
      resolve(lock !== null);
      // Held until the page goes.
      return lock === null ? undefined : new Promise(() => {});
    };
    navigator.locks.request(lockOf(job), options, granted).catch(() => resolve(false));
  });
