import { FettleError } from '../error.js';
import { nearest } from '../math/nearest.js';

/** A metric thread of the coarse pitch series. */
export interface MetricThread {
  /** `M8` */
  readonly name: string;
  /** Major diameter, mm. */
  readonly nominal: number;
  /** mm */
  readonly pitch: number;
  /** Of the first choice of ISO 261: what is met unless there was a reason for another. */
  readonly firstChoice: boolean;
  /** Drill before the tap, mm: nominal less pitch, as ISO 2306 rounds it to drills there are. */
  readonly tapDrill: number;
  /** Minor diameter of the nut thread in tolerance class 6H, mm: what a scan or a gauge finds in a tapped hole. */
  readonly minor: { readonly smallest: number; readonly largest: number };
}

/**
 * Nominal, coarse pitch, and the drill where ISO 2306 prints another than nominal less pitch. ISO 261 and ISO 2306, from
 * memory.
 */
const COARSE: readonly (readonly [nominal: number, pitch: number, drill?: number])[] = [
  [1.6, 0.35],
  [1.8, 0.35],
  [2, 0.4],
  [2.5, 0.45],
  [3, 0.5],
  [3.5, 0.6],
  [4, 0.7],
  [4.5, 0.75, 3.7],
  [5, 0.8],
  [6, 1],
  [7, 1],
  [8, 1.25, 6.8],
  [10, 1.5],
  [12, 1.75, 10.2],
  [14, 2],
  [16, 2],
  [18, 2.5],
  [20, 2.5],
  [22, 2.5],
  [24, 3],
  [27, 3],
  [30, 3.5],
  [33, 3.5],
  [36, 4],
  [39, 4],
  [42, 4.5],
  [45, 4.5],
  [48, 5],
  [52, 5],
  [56, 5.5],
  [60, 5.5],
  [64, 6],
];

/** ISO 261, from memory. */
const FIRST_CHOICE: readonly number[] = [1.6, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 30, 36, 42, 48, 56, 64];

/** Tolerance of the minor diameter in grade 6, mm, by pitch: ISO 965-1, from memory. */
const MINOR_TOLERANCE: ReadonlyMap<number, number> = new Map([
  [0.35, 0.1],
  [0.4, 0.112],
  [0.45, 0.125],
  [0.5, 0.14],
  [0.6, 0.16],
  [0.7, 0.18],
  [0.75, 0.19],
  [0.8, 0.2],
  [1, 0.236],
  [1.25, 0.265],
  [1.5, 0.3],
  [1.75, 0.335],
  [2, 0.375],
  [2.5, 0.45],
  [3, 0.5],
  [3.5, 0.56],
  [4, 0.6],
  [4.5, 0.67],
  [5, 0.71],
  [5.5, 0.75],
  [6, 0.8],
]);

/** To the µm, as tables print it. */
const toMicrometer = (mm: number): number => Number(mm.toFixed(3));

function threadOf([nominal, pitch, drill]: (typeof COARSE)[number]): MetricThread {
  // ISO 724: D1 = D − 2·(5/8)·H with H = (√3/2)·P.
  const minor = nominal - (5 / 8) * Math.sqrt(3) * pitch;
  return Object.freeze({
    name: `M${nominal}`,
    nominal,
    pitch,
    firstChoice: FIRST_CHOICE.includes(nominal),
    tapDrill: drill ?? toMicrometer(nominal - pitch),
    minor: Object.freeze({
      smallest: toMicrometer(minor),
      largest: toMicrometer(toMicrometer(minor) + MINOR_TOLERANCE.get(pitch)!),
    }),
  });
}

/** M1.6 to M64, coarse pitch, smallest first. */
export const metricThreads: readonly MetricThread[] = Object.freeze(COARSE.map(threadOf));

/**
 * A coarse metric thread by its name or its nominal diameter: `M8`, `8`.
 *
 * @throws FettleError `unknown-thread` with the nearest one
 */
export function metricThread(size: string | number): MetricThread {
  const text = String(size).trim();
  const nominal = Number(text.replace(/^m/i, ''));
  const found = metricThreads.find((thread) => thread.nominal === nominal);
  if (found !== undefined) return found;
  const meant =
    nominal > 0 && Number.isFinite(nominal)
      ? metricThreads.reduce((a, b) => (Math.abs(b.nominal - nominal) < Math.abs(a.nominal - nominal) ? b : a)).name
      : nearest(
          text,
          metricThreads.map(({ name }) => name),
        );
  throw new FettleError(
    'unknown-thread',
    `"${size}" is no metric thread of the coarse series kept here (M1.6 to M64)` +
      `${meant === undefined ? '' : `; the nearest is "${meant}"`}. Give its name, as "M8", or its diameter in mm.`,
  );
}

/** The drill before the tap of a coarse metric thread, mm. @throws FettleError `unknown-thread` */
export const tapDrill = (size: string | number): number => metricThread(size).tapDrill;
