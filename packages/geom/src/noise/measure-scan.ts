import type { Scan } from '../scan/scan.js';
import { cellsOf } from './cubes.js';
import { measureSurface } from './measure-surface.js';
import type { NoiseModel, ScanNoise, SurfaceNoise } from './scan-noise.js';
import { smoothSurfaces } from './smooth-surfaces.js';
import { cellSampleOf, membersOf, sampleOf } from './surface-sample.js';

/** Points looked at: every so many-th of a larger scan. */
const MOST_POINTS = 1_000_000;
/** A surface says nothing of the noise with fewer points. */
const LEAST_POINTS = 300;

const known = new WeakMap<Scan, ScanNoise>();

/**
 * The noise of a scan, measured on its largest smooth surfaces: how much of it each point has to itself, and how much neighbors share,
 * over what lengths. A small feature cannot show long noise in its own residuals, because it goes along with it; every fit that is
 * given this takes it for its uncertainty. Worked out once a scan.
 *
 * Surfaces may be bent by up to 25°; of a scan without one of {@link LEAST_POINTS} points nothing is known (`from: 'unknown'`).
 */
export function scanNoise(scan: Scan): ScanNoise {
  const before = known.get(scan);
  if (before) return before;
  const found = Object.freeze(measure(scan));
  known.set(scan, found);
  return found;
}

function measure(scan: Scan): ScanNoise {
  const { positions } = scan;
  const total = scan.select?.length ?? positions.length / 3;
  const every = Math.max(1, total / MOST_POINTS);
  const count = Math.floor(total / every);
  const points = Uint32Array.from({ length: count }, (_, k) => {
    const i = Math.floor(k * every);
    return scan.select ? scan.select[i] : i;
  });
  const cells = count >= LEAST_POINTS ? cellsOf(positions, points) : undefined;
  if (!cells) return { from: 'unknown', surfaces: [] };
  const members = membersOf(cells);
  const surfaces = smoothSurfaces(cells).flatMap((surface): SurfaceNoise[] => {
    const own = surface.cells.reduce((sum, c) => sum + members.count(c), 0);
    if (own < LEAST_POINTS) return [];
    const spacing = Math.sqrt(surface.area / own / every);
    const sample = sampleOf(positions, points, cells, members, surface);
    const noise = measureSurface(sample, cellSampleOf(cells, surface), surface.area, spacing, cells.side);
    return noise ? [noise] : [];
  });
  if (surfaces.length === 0) return { from: 'unknown', surfaces };
  return {
    from: 'measured',
    surfaces,
    model: together(
      surfaces,
      surfaces.map(({ area }) => area),
    ),
  };
}

/** The mean of several surfaces' noise. */
export function together(surfaces: readonly NoiseModel[], weights: readonly number[]): NoiseModel {
  const total = weights.reduce((a, b) => a + b, 0);
  return {
    white: surfaces.reduce((sum, { white }, k) => sum + (white * weights[k]) / total, 0),
    terms: surfaces.flatMap(({ terms }, k) =>
      terms.map((term) => ({ ...term, variance: (term.variance * weights[k]) / total })),
    ),
  };
}
