import { FettleError } from '@fettle/geom';
import type { Refusal } from './protocol.js';

/** An error as it is told across threads; those that say nothing for people are told as they are. */
export function refusalOf(error: unknown, step?: string): Refusal {
  const where = step === undefined ? {} : { step };
  if (isRefusal(error)) return { ...error, ...where };
  if (error instanceof FettleError) return { code: error.code, message: error.message, ...where };
  if (error instanceof DOMException && error.name === 'AbortError') return { code: 'aborted', message: 'Stopped.' };
  if (error instanceof RangeError && /alloc|length|memory/i.test(error.message))
    return {
      code: 'out-of-memory',
      message: 'There is not enough memory for this. Close other pages, or thin the scan.',
    };
  return { code: 'unexpected', message: error instanceof Error ? error.message : String(error), ...where };
}

const isRefusal = (error: unknown): error is Refusal =>
  typeof error === 'object' && error !== null && !(error instanceof Error) && 'code' in error && 'message' in error;
