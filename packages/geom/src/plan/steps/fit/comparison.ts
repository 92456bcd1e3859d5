import type { KnownComparison } from '../../../fit/fit.js';
import { multiplesInWords } from '../../../fit/known/known-comparison.js';
import { degreesInWords } from '../../../text/in-words.js';
import type { GivenFitStep } from './hand-size.js';

/** What the points alone say of each given value, and how far that is off. */
export function comparisonInWords(step: GivenFitStep, comparisons: readonly KnownComparison[] = []): string {
  return comparisons
    .map(({ name, free, difference, multiples, factor }) => {
      const off = `off by ${multiplesInWords(multiples, factor)}`;
      if (typeof free !== 'number') return `the points alone: ${name} ${degreesInWords(difference)} away, ${off}`;
      if (name === 'halfAngle') return `the points alone: half-angle ${degreesInWords(free)}, ${off}`;
      if (step.known?.diameter !== undefined)
        return `the points alone: diameter ${Number((2 * free).toFixed(3))} mm, ${off}`;
      return `the points alone: ${name} ${Number(free.toFixed(3))} mm, ${off}`;
    })
    .join('; ');
}
