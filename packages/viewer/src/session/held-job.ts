import { type JobLocks, ToldLocks, WebLocks } from './job-locks.js';

/** Jobs that are kept at once, a tab each. */
const MOST = 20;
/** A tab that is loaded again, or asked for its job, may take this long to let go of it, ms. */
const LETTING_GO = 3000;
/** Where a tab remembers its job over a reload, and what it was told to do with another tab's. */
const OWN = 'fettle-job';
const WISH = 'fettle-job-wish';
/** Where the browser remembers the job of the tab that was left last. */
const LAST = 'fettle-last-job';

/** Which of the jobs kept in this browser is this tab's, from 1. */
export interface HeldJob {
  readonly number: number;
  /** Whether it is kept from here; else it is another tab's, a copy to look at. */
  readonly isHeld: boolean;
  /** The jobs other tabs have, the one used last first. */
  readonly others: readonly number[];
  /** The jobs tabs have now. */
  held(): Promise<readonly number[]>;
}

/**
 * Holds a job until the tab is closed or another takes it over: the one it was told to take, else the one it had before it was loaded
 * again, else the one that was left last, else the first that no other tab has.
 *
 * @param finish called when another tab takes the job over: what was done is kept before it resolves, and nothing after
 */
export async function holdJob(finish: () => Promise<void>): Promise<HeldJob> {
  try {
    const locks: JobLocks = navigator.locks === undefined ? new ToldLocks() : new WebLocks();
    const last = Number(localStorage.getItem(LAST));
    const wish = takenWish();
    const isHeld = wish?.act !== 'look';
    const number = isHeld ? await hold(locks, wish?.job, last) : wish.job;
    if (isHeld) keepHold(locks, number, finish);
    const others = [...new Set(await locks.held())].filter((job) => job !== number || !isHeld);
    others.sort((a, b) => Number(b === last) - Number(a === last) || a - b);
    return { number, isHeld, others, held: () => locks.held() };
  } catch {
    // A browser that bars the page from its storage keeps nothing either.
    return { number: 1, isHeld: true, others: [], held: async () => [] };
  }
}

async function hold(locks: JobLocks, wished: number | undefined, last: number): Promise<number> {
  if (wished !== undefined) {
    const channel = asking();
    channel.postMessage(wished);
    channel.close();
    if ((await locks.take(wished, LETTING_GO)) || (await locks.force(wished))) return wished;
  }
  const own = Number(sessionStorage.getItem(OWN));
  if (own > 0 && (await locks.take(own, LETTING_GO))) return own;
  if (last > 0 && (await locks.take(last))) return last;
  for (let job = 1; job <= MOST; job++) if (await locks.take(job)) return job;
  return MOST + 1;
}

const asking = (): BroadcastChannel => new BroadcastChannel('fettle-job-wanted');

/** Remembers the job, and hands it on when another tab asks for it. */
function keepHold(locks: JobLocks, number: number, finish: () => Promise<void>): void {
  const remember = () => localStorage.setItem(LAST, String(number));
  sessionStorage.setItem(OWN, String(number));
  remember();
  addEventListener('pagehide', remember);
  const gone = (): Promise<void> => {
    removeEventListener('pagehide', remember);
    return finish();
  };
  locks.onLost = () => void gone();
  asking().addEventListener('message', async ({ data }: MessageEvent<unknown>) => {
    if (data !== number) return;
    await gone();
    locks.letGo();
  });
}

/** Loads the page again with another tab's job: a copy to look at, or the job itself. */
export function loadWith(act: 'look' | 'take', job: number): void {
  sessionStorage.setItem(WISH, `${act} ${job}`);
  location.reload();
}

function takenWish(): { readonly act: 'look' | 'take'; readonly job: number } | undefined {
  const [act, job] = sessionStorage.getItem(WISH)?.split(' ') ?? [];
  sessionStorage.removeItem(WISH);
  if ((act !== 'look' && act !== 'take') || !(Number(job) > 0)) return undefined;
  return { act, job: Number(job) };
}
