/** Which tab has which of the jobs kept in this browser. */
export interface JobLocks {
  /** Jobs that tabs hold, in no order. */
  held(): Promise<readonly number[]>;
  /** Holds a job until it is let go or the tab is closed. @param patience how long to wait for it, ms @returns whether it is held */
  take(job: number, patience?: number): Promise<boolean>;
  /** Holds a job whose tab does not answer. */
  force(job: number): Promise<boolean>;
  letGo(): void;
  /** Called when another tab has forced the job from this one. */
  onLost: () => void;
}

const NAME = 'fettle-job-';

/** The browser's own locks. */
export class WebLocks implements JobLocks {
  onLost = (): void => {};
  #end = (): void => {};

  async held(): Promise<readonly number[]> {
    const { held = [] } = await navigator.locks.query();
    return held.filter(({ name }) => name?.startsWith(NAME)).map(({ name }) => Number(name!.slice(NAME.length)));
  }

  take(job: number, patience = 0): Promise<boolean> {
    return this.#request(job, patience > 0 ? { signal: AbortSignal.timeout(patience) } : { ifAvailable: true });
  }

  force(job: number): Promise<boolean> {
    return this.#request(job, { steal: true });
  }

  letGo(): void {
    this.#end();
  }

  #request(job: number, options: LockOptions): Promise<boolean> {
    return new Promise((resolve) => {
      let isGranted = false;
      const granted = (lock: Lock | null): Promise<void> | undefined => {
        isGranted = lock !== null;
        resolve(isGranted);
        if (!isGranted) return undefined;
        return new Promise((end) => {
          this.#end = end;
        });
      };
      navigator.locks.request(NAME + job, options, granted).catch(() => {
        resolve(false);
        if (isGranted) this.onLost();
      });
    });
  }
}

/** Tabs answer within this which job they have, ms. */
const ANSWER = 300;

/** For a page served without a secure connection, which has no locks: tabs tell each other. */
export class ToldLocks implements JobLocks {
  onLost = (): void => {};
  readonly #channel = new BroadcastChannel('fettle-job-holders');
  #own: number | undefined;
  #heard: number[] = [];

  constructor() {
    this.#channel.addEventListener('message', ({ data }: MessageEvent<unknown>) => {
      if (typeof data === 'number') this.#heard.push(data);
      else if (this.#own !== undefined) this.#channel.postMessage(this.#own);
    });
  }

  async held(): Promise<readonly number[]> {
    this.#heard = [];
    this.#channel.postMessage('who');
    await new Promise((resolve) => setTimeout(resolve, ANSWER));
    return this.#own === undefined ? this.#heard : [...this.#heard, this.#own];
  }

  async take(job: number, patience = 0): Promise<boolean> {
    const until = performance.now() + patience;
    do {
      if (!(await this.held()).includes(job)) return await this.force(job);
    } while (performance.now() < until);
    return false;
  }

  async force(job: number): Promise<boolean> {
    this.#own = job;
    return true;
  }

  letGo(): void {
    this.#own = undefined;
  }
}
