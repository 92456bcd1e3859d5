import { FettleError } from '../../error.js';
import type { Feature, FeatureKind } from '../../feature/feature.js';
import type { ScannerAccuracy } from '../../feature/uncertainty.js';
import { meant } from '../../math/nearest.js';
import { together, withArticle } from '../../text/in-words.js';
import { givenText } from '../../text/number-text.js';
import type { FitOptions } from '../fit.js';
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
  if (robust !== undefined && typeof robust !== 'boolean')
    throw new FettleError('bad-option', `robust is ${givenText(robust)}: give true or false, or leave it out.`);
  const sigmas = reject ?? (robust ? SIGMAS : undefined);
  return { robust: robust ?? reject !== undefined, ...(sigmas !== undefined && { reject: sigmas }) };
}

const COMMON = ['criterion', 'trim', 'reject', 'robust', 'initial', 'scanner', 'noise'];
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
  refuseBadScanner(options.scanner);
}

/** A NaN here would end as an uncertainty that is none. */
function refuseBadScanner(scanner: ScannerAccuracy | undefined): void {
  if (scanner === undefined) return;
  if (typeof scanner !== 'object' || scanner === null)
    throw new FettleError('bad-option', `scanner is ${scanner}: give { accuracy, perMeter }, both in mm.`);
  if ('perMetre' in scanner)
    throw new FettleError('bad-option', "The scanner's perMetre is called perMeter: give { accuracy, perMeter }.");
  for (const name of ['accuracy', 'perMeter'] as const) {
    const value = scanner[name];
    if (name === 'perMeter' && value === undefined) continue;
    if (typeof value === 'number' && value >= 0 && Number.isFinite(value)) continue;
    throw new FettleError(
      'bad-option',
      `The scanner's ${name} is ${givenText(value)}: give the mm it may be off${name === 'perMeter' ? ' for each meter more' : ''}, ` +
        '0 or more, or leave the scanner out.',
    );
  }
}
