import { FettleError } from '../error.js';
import { type Counterbore, counterbore } from './counterbore.js';
import { CLEARANCE_SERIES, type ClearanceSeries, clearanceHoles } from './iso-273.js';
import { limitsOf } from './iso-286.js';
import { type MetricThread, metricThread, metricThreads } from './iso-metric-threads.js';

/** One way to read a measured hole as a clearance hole. */
export interface ClearanceMatch {
  readonly thread: string;
  readonly series: ClearanceSeries;
  /** Of the standard, mm: what to drill. */
  readonly diameter: number;
  /** Measured − standard, mm. */
  readonly difference: number;
  /** Whether the difference is no more than the uncertainty and the series' tolerance allow. */
  readonly fits: boolean;
}

/** What a measured hole is likely for. */
export interface HoleAdvice {
  /** As measured, mm. */
  readonly diameter: number;
  /** ±, mm */
  readonly uncertainty: number;
  /** The nearest clearance hole. */
  readonly clearance: ClearanceMatch;
  /** Others that may be the nearest within the uncertainty, or fit: nearest first. */
  readonly others: readonly ClearanceMatch[];
  /** The thread that goes through the nearest clearance hole, with its own drill. */
  readonly thread: MetricThread;
  /** Measured less the diameter of the thread, mm: how far the screw can move; below 0 it does not go through. */
  readonly play: number;
  /** For a socket head cap screw of that thread; absent where none is kept. */
  readonly counterbore?: Counterbore;
  /** Threads that may be cut in the hole itself: its size is that of their minor diameter. */
  readonly tapped: readonly MetricThread[];
}

/** Tolerances of the holes of the three series (ISO 273). */
const TOLERANCE: Readonly<Record<ClearanceSeries, string>> = { fine: 'H12', medium: 'H13', coarse: 'H14' };

/**
 * What a measured hole is likely for: the nearest clearance hole of ISO 273 (M1.6 to M64), the thread it lets through, counterbore and
 * drill, and the threads that may be cut in it.
 *
 * @param diameter mm
 * @param uncertainty ±, mm; default 0
 * @throws FettleError `hole-out-of-range` for sizes no hole from M1.6 to M64 has
 */
export function holeAdvice(diameter: number, uncertainty = 0): HoleAdvice {
  if (!(uncertainty >= 0 && uncertainty < Number.POSITIVE_INFINITY))
    throw new FettleError('bad-option', `The uncertainty of a hole is ${uncertainty} mm: give ± in mm, 0 or more.`);
  const smallest = metricThreads[0]!.minor.smallest;
  const largest = clearanceHoles.at(-1)!.coarse;
  if (!(diameter + uncertainty >= smallest && diameter - uncertainty <= limitsOf('H14', largest).largest.mm))
    throw new FettleError(
      'hole-out-of-range',
      `A hole of ${Number(diameter.toFixed(3))} mm is outside what is kept here: ${smallest} mm (tapped M1.6) to ${largest} mm (M64 goes through). ` +
        'Give its diameter in mm.',
    );
  const matches = clearanceHoles
    .flatMap((hole) => CLEARANCE_SERIES.map((series) => matchOf(hole.thread, series, hole[series])))
    .sort((a, b) => Math.abs(a.difference) - Math.abs(b.difference) || preference(a) - preference(b));
  const [clearance, ...rest] = matches as [ClearanceMatch, ...ClearanceMatch[]];
  const least = nearestTo(diameter - uncertainty);
  const most = nearestTo(diameter + uncertainty);
  const thread = metricThread(clearance.thread);
  const bore = counterbore(clearance.thread);
  return {
    diameter,
    uncertainty,
    clearance,
    others: rest.filter((match) => match.fits || (match.diameter >= least && match.diameter <= most)),
    thread,
    play: rounded(diameter - thread.nominal),
    ...(bore && { counterbore: bore }),
    tapped: metricThreads.filter(
      ({ minor }) => diameter + uncertainty >= minor.smallest && diameter - uncertainty <= minor.largest,
    ),
  };

  function matchOf(name: string, series: ClearanceSeries, standard: number): ClearanceMatch {
    const { mm } = limitsOf(TOLERANCE[series], standard).tolerance;
    const difference = rounded(diameter - standard);
    const fits = difference >= -uncertainty - ROUNDING && difference <= mm + uncertainty + ROUNDING;
    return { thread: name, series, diameter: standard, difference, fits };
  }
}

const standardDiameters = clearanceHoles.flatMap(({ fine, medium, coarse }) => [fine, medium, coarse]);
const nearestTo = (size: number): number =>
  standardDiameters.reduce((best, d) => (Math.abs(d - size) < Math.abs(best - size) ? d : best));

/** mm */
const ROUNDING = 1e-9;
const rounded = (mm: number): number => Number(mm.toFixed(9));

/** The medium series is what drawings mean unless they say otherwise (ISO 273). */
const preference = ({ series }: ClearanceMatch): number => (series === 'medium' ? 0 : 1);
