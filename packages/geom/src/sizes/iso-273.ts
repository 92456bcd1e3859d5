import { metricThread } from './iso-metric-threads.js';

/** The three series of ISO 273; drawn with H12, H13 and H14. */
export const CLEARANCE_SERIES = ['fine', 'medium', 'coarse'] as const;
export type ClearanceSeries = (typeof CLEARANCE_SERIES)[number];

/** Diameters of the hole a screw goes through, mm. */
export interface ClearanceHole {
  /** `M8` */
  readonly thread: string;
  readonly fine: number;
  readonly medium: number;
  readonly coarse: number;
}

/** Thread, then fine, medium, coarse, mm. ISO 273:1979, from memory. */
const HOLES: readonly (readonly [nominal: number, fine: number, medium: number, coarse: number])[] = [
  [1.6, 1.7, 1.8, 2],
  [1.8, 2, 2.1, 2.2],
  [2, 2.2, 2.4, 2.6],
  [2.5, 2.7, 2.9, 3.1],
  [3, 3.2, 3.4, 3.6],
  [3.5, 3.7, 3.9, 4.2],
  [4, 4.3, 4.5, 4.8],
  [4.5, 4.8, 5, 5.3],
  [5, 5.3, 5.5, 5.8],
  [6, 6.4, 6.6, 7],
  [7, 7.4, 7.6, 8],
  [8, 8.4, 9, 10],
  [10, 10.5, 11, 12],
  [12, 13, 13.5, 14.5],
  [14, 15, 15.5, 16.5],
  [16, 17, 17.5, 18.5],
  [18, 19, 20, 21],
  [20, 21, 22, 24],
  [22, 23, 24, 26],
  [24, 25, 26, 28],
  [27, 28, 30, 32],
  [30, 31, 33, 35],
  [33, 34, 36, 38],
  [36, 37, 39, 42],
  [39, 40, 42, 45],
  [42, 43, 45, 48],
  [45, 46, 48, 52],
  [48, 50, 52, 56],
  [52, 54, 56, 62],
  [56, 58, 62, 66],
  [60, 62, 66, 70],
  [64, 66, 70, 74],
];

/** Of M1.6 to M64, smallest first. */
export const clearanceHoles: readonly ClearanceHole[] = Object.freeze(
  HOLES.map(([nominal, fine, medium, coarse]) => Object.freeze({ thread: `M${nominal}`, fine, medium, coarse })),
);

/**
 * The holes a screw goes through, after ISO 273: `clearanceHole('M8').medium` is 9 mm.
 *
 * @throws FettleError `unknown-thread` with the nearest one
 */
export function clearanceHole(size: string | number): ClearanceHole {
  const { name } = metricThread(size);
  return clearanceHoles.find(({ thread }) => thread === name)!;
}
