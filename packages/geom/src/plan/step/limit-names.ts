import { nearest } from '../../math/nearest.js';
import type { Objection } from './kind.js';

/** Limits on values the row will not have. */
export function objectToNames(
  limits: Readonly<Record<string, unknown>> | undefined,
  names: readonly string[],
): Objection[] {
  return Object.keys(limits ?? {})
    .filter((name) => !names.includes(name))
    .map((name) => {
      const meant = nearest(name, names);
      return {
        path: ['limits', name],
        expected: `one of ${names.join(', ')}`,
        found: `"${name}"${meant === undefined ? '' : `; did you mean "${meant}"?`}`,
      };
    });
}
