import { counted } from '../text/number-text.js';
import type { ReadContext } from './reader.js';

/** Says that faces were left out which have too few corners to be any. */
export function warnOfLacking(faces: number, { name, warnings }: Pick<ReadContext, 'name' | 'warnings'>): void {
  if (faces === 0) return;
  warnings.push({
    code: 'faces-dropped',
    message: `${name}: ${counted(faces, 'face')} of fewer than three corners dropped.`,
  });
}
