import { FettleError } from '../error.js';
import { limitsOf, type SizeLimits } from './iso-286.js';
import { GRADES, type Grade, gradeNumber } from './iso-286-grades.js';

/** What a measured size, as well as it is known, says of a tolerance class. */
export interface SizeInClass {
  readonly limits: SizeLimits;
  /** mm */
  readonly measured: number;
  /** ±, mm; absent where it is not known. */
  readonly uncertainty?: number;
  /** By ISO 14253-1: `within` and `outside` hold whatever the ± leaves open, `open` is neither. Without a ± it is never `open`. */
  readonly verdict: 'within' | 'outside' | 'open';
  /** Of an open one: the grade farthest off whose limits the ± cannot tell from these, in the same letter: `H9`. */
  readonly alike?: string;
}

/**
 * A measured size held against a tolerance class of ISO 286.
 *
 * @param measured mm
 * @param uncertainty ±, mm
 * @throws FettleError as {@link limitsOf}
 */
export function sizeInClass(
  toleranceClass: string,
  nominal: number,
  measured: number,
  uncertainty?: number,
): SizeInClass {
  const limits = limitsOf(toleranceClass, nominal);
  const { smallest, largest } = limits;
  const doubt = uncertainty ?? 0;
  const least = measured - doubt;
  const most = measured + doubt;
  const isWithin = least >= smallest.mm - ROUNDING && most <= largest.mm + ROUNDING;
  const isOutside = most < smallest.mm - ROUNDING || least > largest.mm + ROUNDING;
  const verdict = isWithin ? 'within' : isOutside ? 'outside' : 'open';
  const alike = verdict === 'open' ? alikeWithin(limits, doubt) : undefined;
  return {
    limits,
    measured,
    ...(uncertainty !== undefined && { uncertainty }),
    verdict,
    ...(alike !== undefined && { alike }),
  };
}

/** mm */
const ROUNDING = 1e-9;

/**
 * Of the classes of one letter whose limits are no farther off than `doubt`, the coarsest; the finest where none is coarser: a size at
 * the limit of the one may read as one at the limit of the other.
 */
function alikeWithin({ toleranceClass, nominal, smallest, largest }: SizeLimits, doubt: number): string | undefined {
  const [, letter = '', grade = ''] = /^([A-Za-z]+)(\d+)$/.exec(toleranceClass) ?? [];
  const alike = GRADES.filter((other) => {
    if (other === grade) return false;
    const limits = limitsOrNone(letter + other, nominal);
    if (limits === undefined) return false;
    const off = Math.max(Math.abs(limits.smallest.mm - smallest.mm), Math.abs(limits.largest.mm - largest.mm));
    return off <= doubt + ROUNDING;
  });
  const coarser = alike.filter((other) => gradeNumber(other) > gradeNumber(grade as Grade));
  const found = coarser.at(-1) ?? alike[0];
  return found && letter + found;
}

function limitsOrNone(toleranceClass: string, nominal: number): SizeLimits | undefined {
  try {
    return limitsOf(toleranceClass, nominal);
  } catch (error) {
    if (error instanceof FettleError) return undefined;
    throw error;
  }
}
