/** The worker thread of the batch runner: measures one scan after another, as told. */
import { parentPort, workerData } from 'node:worker_threads';
import { FettleError, resultsToJson } from '@fettle/geom';
import type { MeasureJob, WorkerMessage, WorkerSetting } from './measure-messages.js';
import { type MeasureStage, measureScan } from './measure-scan.js';
import { memoryError } from './memory.js';
import { packResults } from './packed-results.js';
import { raised } from './stop-flag.js';

const { plan, stop, outcomes, json, reading } = workerData as WorkerSetting;
const port = parentPort!;
const tell = (message: WorkerMessage): void => port.postMessage(message);

/** Bytes read and written are told at most this often, ms. */
const INTERVAL = 50;

async function measure({ path, folder }: MeasureJob): Promise<void> {
  const controller = new AbortController();
  let told = 0;
  const tellStage = (stage: MeasureStage): void => {
    const now = performance.now();
    const underWay = (stage.stage === 'reading' || stage.stage === 'writing') && stage.bytes > 0;
    if (underWay && now - told < INTERVAL) return;
    told = now;
    tell({ kind: 'stage', stage });
  };
  const heed = (): void => {
    if (raised(stop)) controller.abort(new FettleError('aborted', `${path}: stopped.`));
  };
  try {
    const { results, files } = await measureScan(plan, path, {
      ...(folder !== undefined && { folder }),
      reading,
      signal: controller.signal,
      onStage: (stage) => {
        // Told first, then heeded: whoever stops the thread knows of every file it may be writing.
        tellStage(stage);
        heed();
      },
    });
    tell({
      kind: 'measured',
      results: packResults(results, outcomes),
      ...(json && { json: resultsToJson(results) }),
      files,
    });
  } catch (thrown) {
    const error = memoryError(path, thrown);
    const { message, stack } = error as Error;
    const code = error instanceof FettleError ? error.code : 'unexpected';
    tell({ kind: 'failed', code, message, ...(stack !== undefined && { stack }) });
  }
}

port.on('message', (job: MeasureJob) => void measure(job));
