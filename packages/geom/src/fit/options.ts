import { FettleError } from '../error.js';
import type { Feature } from '../feature/feature.js';
import type { FitOptions } from './fit.js';

/** Sigmas at which a robust fit rejects when it is not told. */
const SIGMAS = 2.5;

export interface CheckedOptions {
  /** Sigmas; undefined: nothing is rejected. */
  readonly reject?: number;
  readonly robust: boolean;
}

/**
 * Whether and where a fit rejects points, and whether it starts by sample consensus.
 *
 * @throws FettleError `bad-option`
 */
export function checkedOptions<F extends Feature>({ reject, robust }: FitOptions<F>): CheckedOptions {
  if (reject !== undefined && !(reject > 0 && Number.isFinite(reject))) {
    throw new FettleError('bad-option', `reject is ${reject}: give a number of sigmas, more than 0 (3 is common).`);
  }
  const sigmas = reject ?? (robust ? SIGMAS : undefined);
  return { robust: robust ?? reject !== undefined, ...(sigmas !== undefined && { reject: sigmas }) };
}
