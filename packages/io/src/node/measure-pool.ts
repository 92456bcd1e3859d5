import { Worker } from 'node:worker_threads';
import { FettleError, type Plan, type Results, type ResultsJson } from '@fettle/geom';
import type { MeasureJob, WorkerMessage, WorkerSetting } from './measure-messages.js';
import type { MeasureStage, ReadingOptions } from './measure-scan.js';
import { memoryError } from './memory.js';
import { unpackResults } from './packed-results.js';
import { raise, stopFlag } from './stop-flag.js';

export type MeasuredJob =
  | { readonly results: Results; readonly json?: ResultsJson; readonly files: readonly string[] }
  | { readonly error: FettleError };

export interface PoolOptions {
  readonly workers: number;
  readonly outcomes: boolean;
  readonly json: boolean;
  readonly reading: ReadingOptions;
  onStage?(job: number, stage: MeasureStage): void;
  onDone?(job: number, measured: MeasuredJob): void;
  readonly signal?: AbortSignal;
}

/** Long enough for messages already sent to arrive, ms. */
const SETTLE = 50;

/**
 * Measures every job in worker threads, each taking the next job when it has done one; what comes back is in the order of
 * the jobs. A job that fails, or takes its thread down with it, is reported in its place and the others go on.
 *
 * @throws the signal's reason once it is aborted and no thread is writing any more
 */
export async function measureJobs(
  plan: Plan,
  jobs: readonly MeasureJob[],
  options: PoolOptions,
): Promise<MeasuredJob[]> {
  const { signal, outcomes, json, reading, onStage, onDone } = options;
  signal?.throwIfAborted();
  const measured: MeasuredJob[] = new Array(jobs.length);
  const setting: WorkerSetting = { plan, stop: stopFlag(), outcomes, json, reading };
  const threads = new Set<Thread>();
  let next = 0;

  const runThread = async (): Promise<void> => {
    let thread: Thread | undefined;
    try {
      while (next < jobs.length && !signal?.aborted) {
        const j = next++;
        if (!thread?.alive) {
          thread = new Thread(setting);
          threads.add(thread);
        }
        const done = await thread.measure(jobs[j]!, (stage) => onStage?.(j, stage));
        measured[j] = done;
        if (!signal?.aborted) onDone?.(j, done);
      }
    } finally {
      await thread?.end();
    }
  };

  const stop = async (): Promise<void> => {
    raise(setting.stop);
    await new Promise((resolve) => setTimeout(resolve, SETTLE));
    // A thread that writes gives its file up by itself at the next chunk; the others have nothing to tidy.
    for (const thread of threads) if (!thread.writing) void thread.end();
  };
  const onAbort = (): void => void stop();
  signal?.addEventListener('abort', onAbort, { once: true });
  try {
    await Promise.all(Array.from({ length: Math.min(options.workers, jobs.length) }, runThread));
  } finally {
    signal?.removeEventListener('abort', onAbort);
  }
  signal?.throwIfAborted();
  return measured;
}

/** A worker thread and the one job it has. */
class Thread {
  readonly #worker: Worker;
  alive = true;
  writing = false;

  constructor(setting: WorkerSetting) {
    this.#worker = new Worker(new URL('./measure-worker.js', import.meta.url), { workerData: setting });
    this.#worker.once('exit', () => {
      this.alive = false;
    });
  }

  measure(job: MeasureJob, onStage: (stage: MeasureStage) => void): Promise<MeasuredJob> {
    const worker = this.#worker;
    return new Promise((resolve) => {
      const finish = (measured: MeasuredJob): void => {
        this.writing = false;
        worker.off('message', onMessage);
        worker.off('error', onError);
        worker.off('exit', onExit);
        resolve(measured);
      };
      const onMessage = (message: WorkerMessage): void => {
        if (message.kind === 'stage') {
          this.writing = message.stage.stage === 'writing';
          onStage(message.stage);
        } else if (message.kind === 'measured') {
          const { results, json, files } = message;
          finish({ results: unpackResults(results), ...(json && { json }), files });
        } else {
          const error = new FettleError(message.code, message.message);
          if (message.stack !== undefined) error.stack = message.stack;
          finish({ error });
        }
      };
      const onError = (cause: Error): void => {
        const error = memoryError(job.path, cause);
        finish({
          error:
            error instanceof FettleError
              ? error
              : new FettleError('worker-stopped', `${job.path}: measuring stopped: ${cause.message}.`, { cause }),
        });
      };
      const onExit = (): void =>
        finish({ error: new FettleError('worker-stopped', `${job.path}: measuring was stopped before its end.`) });
      worker.on('message', onMessage);
      worker.on('error', onError);
      worker.on('exit', onExit);
      worker.postMessage(job);
    });
  }

  async end(): Promise<void> {
    await this.#worker.terminate();
    this.alive = false;
  }
}
