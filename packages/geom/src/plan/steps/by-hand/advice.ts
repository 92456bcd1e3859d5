import { FettleError } from '../../../error.js';
import { holeAdvice } from '../../../sizes/hole-advice.js';
import { fitInWords, holeAdviceInWords, limitsInWords } from '../../../sizes/in-words.js';
import { fitOf, limitsOf } from '../../../sizes/iso-286.js';
import type { Objection } from '../../kind.js';
import type { ByHandStep, SizeByHand } from './schema.js';

/** The size a drawing would give: asked for, or the nearest full millimeter. */
const nominalOf = ({ nominal, size }: SizeByHand): number => nominal ?? Math.max(1, Math.round(size));

const allowedInWords = (allowed: string, nominal: number): string =>
  allowed.includes('/') ? fitInWords(fitOf(allowed, nominal)) : limitsInWords(limitsOf(allowed, nominal));

/** What the tables say of a size read off the part: the screw a hole is for (ISO 273), limits and fit (ISO 286). */
export function adviceInWords(step: ByHandStep): string[] {
  if ('distance' in step) return [];
  const { size, uncertainty, screw, fit } = step;
  const words = screw ? [holeAdviceInWords(holeAdvice(size, uncertainty ?? 0)).join(' ')] : [];
  if (fit === undefined) return words;
  return [...words, `${allowedInWords(fit, nominalOf(step))}; measured ${size} mm`];
}

/** What the tables do not have. */
export function objectToAdvice(step: ByHandStep): readonly Objection[] {
  if ('distance' in step) return [];
  const found: Objection[] = [];
  const tried = (field: string, value: unknown, ask: () => unknown) => {
    try {
      ask();
    } catch (error) {
      if (!(error instanceof FettleError)) throw error;
      found.push({ path: [field], expected: `what the tables have: ${error.message}`, found: String(value) });
    }
  };
  const { fit, size, screw, nominal } = step;
  if (fit !== undefined) tried('fit', fit, () => allowedInWords(fit, nominalOf(step)));
  else if (nominal !== undefined) found.push({ path: ['nominal'], expected: 'a class in fit', found: 'none' });
  if (screw) tried('screw', size, () => holeAdvice(size));
  return found;
}
