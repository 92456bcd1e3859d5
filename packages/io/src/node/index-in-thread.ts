import { Worker } from 'node:worker_threads';
import { FettleError, type PackedIndex, type Scan, type SpatialIndex, unpackIndex } from '@fettle/geom';

/**
 * Builds the spatial index of a scan in a thread of its own, so that the program goes on meanwhile; from then on `spatialIndex` gives
 * it for this scan. The thread works on a copy of the scan's points and triangles.
 *
 * @throws the signal's reason when it is aborted; FettleError `worker-stopped` if the thread fails, for want of memory or else
 */
export async function indexInThread(
  scan: Scan,
  options: { readonly signal?: AbortSignal } = {},
): Promise<SpatialIndex> {
  const { signal } = options;
  signal?.throwIfAborted();
  const { positions, triangles, select, units, name } = scan;
  const workerData = { positions, units, name, ...(triangles ? { triangles } : select && { select }) };
  const worker = new Worker(new URL('./index-worker.js', import.meta.url), { workerData });
  let onAbort: (() => void) | undefined;
  try {
    const packed = await new Promise<PackedIndex>((resolve, reject) => {
      onAbort = () => reject(signal!.reason);
      signal?.addEventListener('abort', onAbort, { once: true });
      const fail = (why: string, cause?: unknown) =>
        reject(new FettleError('worker-stopped', `${name}: building its index stopped: ${why}.`, { cause }));
      worker.once('message', resolve);
      worker.once('error', (error) => fail(error.message, error));
      worker.once('exit', () => fail('its thread ended'));
    });
    return unpackIndex(scan, packed);
  } finally {
    if (onAbort) signal?.removeEventListener('abort', onAbort);
    await worker.terminate();
  }
}
