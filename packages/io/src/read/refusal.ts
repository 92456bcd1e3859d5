import { FettleError } from '@fettle/geom';

/** An error about a scan: its name, a colon, what was wrong, where, and what to do. */
export function refusal(name: string, code: string, what: string, cause?: unknown): FettleError {
  return new FettleError(code, `${name}: ${what}`, cause === undefined ? undefined : { cause });
}
