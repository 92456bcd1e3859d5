import { metricThread } from './iso-metric-threads.js';

/** Room for the head of a socket head cap screw (ISO 4762) sunk flush, mm. */
export interface Counterbore {
  /** `M8` */
  readonly thread: string;
  /** H13 */
  readonly diameter: number;
  /** To the seat of the head. */
  readonly depth: number;
  /** Head of the screw: diameter, its greatest without a knurl, and height. */
  readonly head: { readonly diameter: number; readonly height: number };
}

/**
 * Thread, counterbore of DIN 974-1 series 1 (screws without a washer), head diameter of ISO 4762, mm; from memory. Sizes under M3,
 * M22 and those over M24 are left out: memory was not sure of them.
 */
const SERIES_1: readonly (readonly [nominal: number, diameter: number, head: number])[] = [
  [3, 6.5, 5.5],
  [4, 8, 7],
  [5, 10, 8.5],
  [6, 11, 10],
  [8, 15, 13],
  [10, 18, 16],
  [12, 20, 18],
  [14, 24, 21],
  [16, 26, 24],
  [18, 30, 27],
  [20, 33, 30],
  [24, 40, 36],
];

/** By how much the head lies under the face, mm (DIN 974-1, from memory). */
const sunkBy = (nominal: number): number => (nominal <= 6 ? 0.4 : nominal <= 20 ? 0.6 : 0.8);

/**
 * The counterbore for a socket head cap screw; undefined for threads outside M3 to M24 and for those the series leaves out.
 *
 * @throws FettleError `unknown-thread` if it is no metric thread of the coarse series
 */
export function counterbore(size: string | number): Counterbore | undefined {
  const { name, nominal } = metricThread(size);
  const found = SERIES_1.find(([own]) => own === nominal);
  if (found === undefined) return undefined;
  const [, diameter, head] = found;
  // ISO 4762: the head is as high as the thread is wide.
  const depth = Number((nominal + sunkBy(nominal)).toFixed(1));
  return { thread: name, diameter, depth, head: { diameter: head, height: nominal } };
}
