import { FettleError } from '../error.js';

/** @throws FettleError `not-finite` where what a construction was given leads to numbers that are none */
export function demandFinite(what: string, numbers: readonly number[]): void {
  if (numbers.every(Number.isFinite)) return;
  throw new FettleError(
    'not-finite',
    `${what} came out as ${numbers.join(', ')}: something it was made of has coordinates or a direction that are not finite, or a direction without length.`,
  );
}
