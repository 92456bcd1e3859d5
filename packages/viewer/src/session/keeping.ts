import { effect } from '@preact/signals';
import type { History } from './history.js';
import { isFull, type Keep, type ScanOrigin } from './keep.js';
import type { Notice } from './session.js';

/** The first change is kept at once, those that follow faster than this together, ms. */
const PAUSE = 250;

/** Keeps a session as it goes on. What cannot be kept is said once, and the work goes on. */
export class Keeping {
  readonly #keep: Keep;
  readonly #history: History;
  readonly #say: (notice: Notice) => void;
  #timer: ReturnType<typeof setTimeout> | undefined;
  /** When it was kept last. */
  #kept = -Infinity;
  #saving: Promise<void> = Promise.resolve();
  #isTold = false;

  constructor(keep: Keep, history: History, say: (notice: Notice) => void) {
    this.#keep = keep;
    this.#history = history;
    this.#say = say;
  }

  /** Keeps every change of the history from now on. */
  begin(): void {
    let isFirst = true;
    effect(() => {
      this.#history.state.value;
      if (!isFirst) this.#later();
      isFirst = false;
    });
    // What waits when the page is left is kept on the way out.
    globalThis.addEventListener?.('pagehide', () => void this.flush());
  }

  #later(): void {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.flush(), Math.max(0, this.#kept + PAUSE - performance.now()));
  }

  /** Keeps what is still waiting; resolves once all is kept. */
  flush(): Promise<void> {
    clearTimeout(this.#timer);
    this.#kept = performance.now();
    this.#saving = this.#saving.then(() => this.#saveHistory());
    return this.#saving;
  }

  async #saveHistory(): Promise<void> {
    try {
      await this.#keep.saveHistory(this.#history.state.value);
      this.#isTold = false;
    } catch (error) {
      if (this.#isTold) return;
      this.#isTold = true;
      this.#say({
        tone: 'refusal',
        code: 'plan-not-kept',
        message: `${because(error)} Your plan is not kept there: it is still here, but a reload would lose it. Hand over the plan to be safe.`,
      });
    }
  }

  /** Keeps the scan itself, or forgets it. */
  async saveScan(origin: ScanOrigin | undefined): Promise<void> {
    try {
      await this.#keep.saveScan(origin);
    } catch (error) {
      this.#say({
        tone: 'word',
        code: 'scan-not-kept',
        message: `${because(error)} The scan is not kept there. Your plan is: after a reload, open the scan again and it goes on.`,
      });
    }
    await this.flush();
  }
}

const because = (error: unknown): string =>
  isFull(error) ? "The browser's storage is full." : "The browser's storage cannot be used.";
