import { pointIndex } from '../scan/point-index.js';
import type { Patches } from './patches.js';

/** Pieces of surface seen in a mirror. */
export function mirrored(patches: Patches): Patches {
  const turn = (value: number, k: number): number => (k % 3 === 0 ? -value : value);
  const middle = patches.middle.map(turn);
  return { ...patches, middle, normal: patches.normal.map(turn), index: pointIndex({ positions: middle }) };
}
