import { nthSmallest } from '../../math/nth-smallest.js';
import { lay, layingFor, localPoints } from '../uncertainty/correlated-noise/laying.js';
import type { PatchSource } from '../uncertainty/correlated-noise/patch-source.js';
import { RUN, runStarts } from '../uncertainty/correlated-noise/sample.js';
import { layOnCone } from './slant.js';

/** Points looked at, at most. */
const MOST = 1 << 14;
/** Residuals beyond so many robust standard deviations, or so many times what 98 in 100 keep to, count as if they lay there. */
const CLIPPED = 4;
const BEYOND_MOST = 1.25;

/** A sample of a fit's points, laid on the feature, with their residuals. */
export interface SeenPoints {
  readonly count: number;
  /** Number of each in the fit. */
  readonly index: Uint32Array;
  /** Along u, v, w from `at`, mm; on a cylinder or sphere at their mean distance from its axis or center, on a cone at their feet. */
  readonly local: Float64Array;
  /** mm; single points far off are drawn in, since they say nothing of passes. */
  readonly residual: Float64Array;
  /** Robust standard deviation of the residuals, mm. */
  readonly sigma: number;
}

export function seenPoints(source: PatchSource): SeenPoints {
  const total = source.residuals.length;
  const index =
    total > MOST ? runsFrom(runStarts(total, MOST / RUN)) : Uint32Array.from({ length: total }, (_, i) => i);
  const local = localPoints(source, index);
  lay(local, layingFor(source.kind, local), source, index);
  const residual = Float64Array.from(index, (i) => source.residuals[i]);
  if (source.kind === 'cone') layOnCone(local, residual);
  const size = residual.map(Math.abs);
  const sigma = 1.4826 * nthSmallest(size, size.length >> 1);
  const limit = Math.max(CLIPPED * sigma, BEYOND_MOST * nthSmallest(size, Math.floor(0.98 * size.length)));
  for (let i = 0; i < residual.length; i++) residual[i] = Math.max(-limit, Math.min(limit, residual[i]));
  return { count: index.length, index, local, residual, sigma };
}

function runsFrom(starts: Uint32Array): Uint32Array {
  const all = new Uint32Array(starts.length * RUN);
  for (let s = 0; s < starts.length; s++) for (let k = 0; k < RUN; k++) all[s * RUN + k] = starts[s] + k;
  return all;
}
