import { FettleError } from '@fettle/geom';
import { refusal } from './refusal.js';
import type { UnpackingBudget } from './unpacking-budget.js';

/** Whether bytes begin as gzip does (RFC 1952). */
export const isGzip = (head: Uint8Array): boolean => head[0] === 0x1f && head[1] === 0x8b && head[2] === 8;

/**
 * What a gzip stream holds, by the platform's own decompressor. One that is damaged or cut short gives what comes out of it until
 * then and throws: `bad-compression`. More than the budget allows: `too-large`.
 */
export async function* gunzip(
  pieces: AsyncGenerator<Uint8Array>,
  name: string,
  budget: UnpackingBudget,
): AsyncGenerator<Uint8Array, void, void> {
  // An error of the source itself is told from one of the decompressor, which would hide it.
  let failed: { readonly error: unknown } | undefined;
  const packed = new ReadableStream<Uint8Array<ArrayBuffer>>({
    async pull(controller) {
      try {
        const { done, value } = await pieces.next();
        if (done) controller.close();
        // A piece of the source is good until the next is asked for; the decompressor may keep it longer.
        else {
          budget.addPacked(value.length);
          controller.enqueue(value.slice() as Uint8Array<ArrayBuffer>);
        }
      } catch (error) {
        failed = { error };
        controller.error(error);
      }
    },
    async cancel() {
      await pieces.return(undefined);
    },
  });
  const reader = packed.pipeThrough(new DecompressionStream('gzip')).getReader();
  let isDone = false;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      isDone = done;
      if (done) return;
      budget.take(value.length);
      yield value;
    }
  } catch (error) {
    if (error instanceof FettleError) throw error;
    isDone = true;
    if (failed !== undefined) throw failed.error;
    throw refusal(
      name,
      'bad-compression',
      `compressed with gzip, and damaged or cut short (${(error as Error).message}). Export or compress it again.`,
      error,
    );
  } finally {
    if (!isDone) await reader.cancel().catch(() => undefined);
  }
}
