import { together, withArticle } from '../construct/in-words.js';
import { FettleError } from '../error.js';
import type { Feature, FeatureKind } from '../feature/feature.js';
import { meant } from '../math/nearest.js';
import type { FitOptions } from './fit.js';
import { refuseBadStart } from './start-by-hand.js';

/** Sigmas at which a robust fit rejects when it is not told. */
const SIGMAS = 3;

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

const COMMON = ['criterion', 'trim', 'reject', 'robust', 'initial', 'scanner'];
const IN_A_PLANE: readonly FeatureKind[] = ['circle', 'slot', 'ellipse'];
const WITHOUT_KNOWN: readonly FeatureKind[] = ['slot', 'ellipse'];

/**
 * A misspelled option would be ignored without a word.
 *
 * @throws FettleError `bad-option`
 */
export function refuseStrayOptions<F extends Feature>(kind: F['kind'], options: FitOptions<F>): void {
  if (typeof options !== 'object' || options === null)
    throw new FettleError('bad-option', `The options are ${options}: give an object, or leave them out.`);
  const names = [
    ...COMMON,
    ...(WITHOUT_KNOWN.includes(kind) ? [] : ['known']),
    ...(IN_A_PLANE.includes(kind) ? ['plane'] : []),
  ];
  for (const [name, value] of Object.entries(options)) {
    if (value === undefined || names.includes(name)) continue;
    throw new FettleError(
      'bad-option',
      `Fitting ${withArticle(kind)} has no option ${name}.${meant(name, names)} It takes ${together(names)}.`,
    );
  }
  refuseBadStart(kind, options.initial);
}
