import { z } from 'zod';
import { FettleError, type Warning } from '../../error.js';
import { holeAdvice } from '../../sizes/hole-advice.js';
import { fitInWords, holeAdviceInWords, limitsInWords, sizeInClassInWords } from '../../sizes/in-words.js';
import { fitOf, limitsOf } from '../../sizes/iso-286.js';
import { sizeInClass } from '../../sizes/size-in-class.js';
import { positiveLength, shortText } from './fields.js';
import type { Objection } from './kind.js';

/** What a step may ask the tables about a size. */
export const adviceFields = {
  screw: z
    .boolean()
    .optional()
    .describe('It is a drilled hole: the job sheet says which clearance hole it is nearest to (ISO 273), with drills.'),
  fit: shortText
    .optional()
    .describe(
      'A class as H7, or a fit as H7/g6: the job sheet says its limits (ISO 286), also in thousandths of an inch, and what the ' +
        'measured size, as well as it is known, says of it.',
    ),
  nominal: positiveLength.optional().describe('Size the class is for, mm. Absent: the nearest full millimeter.'),
};

/** What is asked. */
export interface AdviceAsked {
  readonly screw?: boolean | undefined;
  readonly fit?: string | undefined;
  readonly nominal?: number | undefined;
}

/** A size of a part, mm. */
export interface MeasuredSize {
  readonly value: number;
  /** ±; absent where it is not known. */
  readonly uncertainty?: number;
  /** Whether it is that of a hole; absent where that is not known. */
  readonly isHole?: boolean;
}

/** What the tables say, each a sentence or more, and what is odd about the question. */
export interface Advice {
  readonly words: readonly string[];
  readonly warnings: readonly Warning[];
}

/** What the tables say of a size: the screw a hole is for (ISO 273), limits and fit (ISO 286). */
export function adviceOn(size: MeasuredSize, { screw, fit, nominal }: AdviceAsked): Advice {
  const words: string[] = [];
  const warnings: Warning[] = [...ofWrongSide(size, { screw, fit })];
  const ask = (say: () => string) => {
    try {
      words.push(say());
    } catch (error) {
      // A size found on the scan may be one the tables do not have: that stops nothing.
      if (!(error instanceof FettleError)) throw error;
      warnings.push({ code: error.code, message: error.message });
    }
  };
  if (screw) ask(() => holeAdviceInWords(holeAdvice(size.value, size.uncertainty ?? 0)).join(' '));
  if (fit !== undefined) ask(() => fitAdvice(fit, nominal ?? nominalOf(size.value), size));
  return { words, warnings };
}

/** The size a drawing would give: the nearest full millimeter. */
const nominalOf = (size: number): number => Math.max(1, Math.round(size));

function fitAdvice(fit: string, nominal: number, { value, uncertainty, isHole }: MeasuredSize): string {
  const held = (toleranceClass: string) => sizeInClassInWords(sizeInClass(toleranceClass, nominal, value, uncertainty));
  if (!fit.includes('/')) return `${limitsInWords(limitsOf(fit, nominal))}; ${held(fit)}.`;
  const found = fitOf(fit, nominal);
  const sides = [...(isHole === false ? [] : [found.hole]), ...(isHole === true ? [] : [found.shaft])].map(
    (limits) => `as the ${limits.of} ${held(limits.toleranceClass)}`,
  );
  return `${[fitInWords(found), ...sides].join('; ')}.`;
}

const isOfShaft = (fit: string): boolean => !fit.includes('/') && /^[a-z]/.test(fit.trim());

/** A question about a hole asked of a shaft, or the other way round. */
function ofWrongSide({ isHole }: MeasuredSize, { screw, fit }: AdviceAsked): readonly Warning[] {
  if (isHole === undefined) return [];
  const ofHole = screw ? 'A screw' : fit !== undefined && !fit.includes('/') && !isOfShaft(fit) ? fit : undefined;
  if (!isHole && ofHole !== undefined)
    return [
      {
        code: 'not-a-hole',
        message:
          `${ofHole} is for a hole, and the scan shows the outside of a shaft here. Look whether the region is the right one, or ` +
          'take the class of a shaft, as h7.',
      },
    ];
  if (isHole && fit !== undefined && isOfShaft(fit))
    return [
      {
        code: 'not-a-shaft',
        message:
          `${fit} is for a shaft, and the scan shows the inside of a hole here. Look whether the region is the right one, or take ` +
          'the class of a hole, as H7.',
      },
    ];
  return [];
}

/**
 * What the tables do not have.
 *
 * @param size as far as it is known before the scan is read
 */
export function objectToAdvice({ screw, fit, nominal }: AdviceAsked, size: number | undefined): readonly Objection[] {
  const found: Objection[] = [];
  const tried = (field: string, value: unknown, ask: () => unknown) => {
    try {
      ask();
    } catch (error) {
      if (!(error instanceof FettleError)) throw error;
      found.push({ path: [field], expected: `what the tables have: ${error.message}`, found: String(value) });
    }
  };
  if (fit !== undefined) {
    const about = nominal ?? (size === undefined ? undefined : nominalOf(size));
    tried('fit', fit, () => (about === undefined ? demandClass(fit) : classes(fit, about)));
  } else if (nominal !== undefined) found.push({ path: ['nominal'], expected: 'a class in fit', found: 'none' });
  if (screw && size !== undefined) tried('screw', size, () => holeAdvice(size));
  return found;
}

const classes = (fit: string, nominal: number): unknown =>
  fit.includes('/') ? fitOf(fit, nominal) : limitsOf(fit, nominal);

/** Any size, to see whether a class is one at all. */
const SOME_SIZE = 50;

function demandClass(fit: string): void {
  try {
    classes(fit, SOME_SIZE);
  } catch (error) {
    // What the standard does not give for this size it may give for the one on the scan.
    if (!(error instanceof FettleError) || error.code !== 'class-not-given') throw error;
  }
}
