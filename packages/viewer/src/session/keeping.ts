import { effect } from '@preact/signals';
import type { History } from './history.js';
import { isFull, type Keep, type ScanOrigin } from './keep.js';
import type { Notice } from './session.js';

/** Keeps a session as it goes on. What cannot be kept is said once, and the work goes on. */
export class Keeping {
  readonly #keep: Keep;
  readonly #history: History;
  readonly #say: (notice: Notice) => void;
  /** Of the scan that is open. */
  readonly #fingerprint: () => string | undefined;
  /** While a scan is put into the store or taken out of it. */
  #scanSaving: Promise<unknown> = Promise.resolve();
  #hasBegun = false;
  #isStopped = false;
  /** While something is being kept. */
  #saving: Promise<void> | undefined;
  /** Whether there is something newer than what is being kept. */
  #isBehind = false;
  /** What was said to be missing from what is kept last. */
  #lacking: 'undo-not-kept' | 'plan-not-kept' | undefined;

  constructor(keep: Keep, history: History, fingerprint: () => string | undefined, say: (notice: Notice) => void) {
    this.#keep = keep;
    this.#history = history;
    this.#fingerprint = fingerprint;
    this.#say = say;
  }

  /** Keeps every change of the history from now on, at once; those that come faster than they can be kept, together. */
  begin(): void {
    this.#hasBegun = true;
    let isFirst = true;
    effect(() => {
      this.#history.state.value;
      if (!isFirst) void this.flush();
      isFirst = false;
    });
    // What waits when the page is left is kept on the way out.
    globalThis.addEventListener?.('pagehide', () => void this.flush());
  }

  /** Whether nothing is kept any more. */
  get isStopped(): boolean {
    return this.#isStopped;
  }

  /** Keeps what there is, and nothing from then on. What was never kept from here, as what is only looked at, stays so. */
  async stop(): Promise<void> {
    if (this.#hasBegun) {
      await this.#scanSaving;
      void this.flush();
    }
    this.#isStopped = true;
    await this.#saving;
  }

  /** Keeps what there is now, and what comes while that is done; resolves once all is kept. */
  flush(): Promise<void> {
    if (this.#isStopped) return this.#saving ?? Promise.resolve();
    this.#isBehind = true;
    this.#saving ??= this.#catchUp();
    return this.#saving;
  }

  async #catchUp(): Promise<void> {
    while (this.#isBehind) {
      this.#isBehind = false;
      await this.#saveHistory();
    }
    this.#saving = undefined;
  }

  async #saveHistory(): Promise<void> {
    try {
      const kept = await this.#keep.saveHistory({ ...this.#history.state.value, scan: this.#fingerprint() });
      if (kept === 'all') this.#lacking = undefined;
      else
        this.#lack('undo-not-kept', `${FULL} Your plan is kept, but after a reload nothing before it can be undone.`);
    } catch (error) {
      this.#lack(
        'plan-not-kept',
        `${because(error)} Your plan is not kept there: it is still here, but a reload would lose it. Hand over the plan to be safe.`,
      );
    }
  }

  #lack(code: 'undo-not-kept' | 'plan-not-kept', message: string): void {
    if (this.#lacking === code) return;
    this.#lacking = code;
    this.#say({ tone: code === 'plan-not-kept' ? 'refusal' : 'word', code, message });
  }

  /** Keeps the scan itself. @returns whether that was done */
  async saveScan(origin: ScanOrigin): Promise<boolean> {
    if (this.#isStopped) return false;
    const saving = this.#keep.saveScan(origin).then(
      () => undefined,
      (error: unknown) => `${because(error)} The scan is not kept there.`,
    );
    this.#scanSaving = saving;
    const failed = await saving;
    await this.flush();
    if (failed === undefined) return true;
    const plan =
      this.#lacking === 'plan-not-kept' ? '' : ' Your plan is: after a reload, open the scan again and it goes on.';
    this.#say({ tone: 'word', code: 'scan-not-kept', message: failed + plan });
    return false;
  }

  /** Takes out the scan that is kept, and on demand those of jobs that no tab has. @returns whether that was done */
  async forgetScan(left: 'all' | 'own'): Promise<boolean> {
    if (this.#isStopped) return true;
    try {
      const saving = this.#keep.saveScan(undefined);
      this.#scanSaving = saving.catch(() => undefined);
      await saving;
      if (left === 'all') await this.#keep.forgetLeftScans();
      return true;
    } catch (error) {
      const message = `${because(error)} The copy of the scan is still there. To take it out, clear what this page stored in the browser's settings.`;
      this.#say({ tone: 'refusal', code: 'scan-not-forgotten', message });
      return false;
    } finally {
      await this.flush();
    }
  }
}

const FULL = "The browser's storage is full.";
const because = (error: unknown): string => (isFull(error) ? FULL : "The browser's storage cannot be used.");
