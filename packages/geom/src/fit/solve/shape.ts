import type { Feature } from '../../feature/feature.js';
import type { Random } from '../../math/random.js';
import { add, length, normalize, scale, subtract, type Vec3 } from '../../math/vec3.js';
import type { Coverage } from '../fit.js';
import type { Seen } from './coverage.js';
import type { Distances } from './normal-equations.js';
import type { Parameter, Placement } from './placement.js';
import type { PointSet } from './point-set.js';
import type { Solved } from './solved.js';
import type { Spread } from './spread.js';

/** Values taken as given or weighed in, without their uncertainties. */
export interface Given {
  readonly radius?: number;
  /** Unit length. */
  readonly direction?: Vec3;
  /** Radians. */
  readonly halfAngle?: number;
}

/** Points a start is found from, and what is known of all the points. */
export interface Sample {
  /** At most a few thousand points. */
  readonly set: PointSet;
  readonly spread: Spread;
  readonly given: Given;
  readonly random: Random;
  /** Of the guesses a shape makes along each direction: this share. Default 1. */
  readonly share?: number;
}

/** What the fits ask of a shape: the same in every shape's file, in the same order. */
export interface Shape<F extends Feature> extends Distances {
  readonly kind: F['kind'];
  /** Whether distances have a side. A line's have none. */
  readonly isSigned: boolean;
  /** Of a shape with two components: places of the parameters each of them speaks of. */
  readonly speaksOf?: readonly [readonly number[], readonly number[]];
  /** Parameters that are never fitted. */
  readonly held?: readonly Parameter[];
  /** The shape without them. */
  readonly freed?: Shape<F>;
  /** Side its normal points to, where that is settled beforehand. */
  readonly facing?: Vec3;
  /** Whether its one start is the answer but for rounding, so that it is sought on all points. */
  readonly startsAtAnswer: boolean;
  /**
   * Placements to start from, of which at least one lies in the basin of the best fit. Given values are already met.
   *
   * @throws FettleError where the points cannot determine the shape
   */
  starts(sample: Sample): Placement[];
  /**
   * Rough placements, each through as few random points as determine one: where many points lie elsewhere, some of them are through
   * points of this shape alone. Given values are met.
   */
  guesses(sample: Sample): Iterable<Placement>;
  /** Of a surface whose distances are linear in its moves: from a start that is nearly right, in passes that keep the residuals. */
  finish?(set: PointSet, spread: Spread, start: Placement): Solved;
  /** The same surface, seen from the point of its axis level with the origin, with all values in their ranges. */
  settle(placement: Placement): Placement;
  placementOf(feature: F, origin: Vec3): Placement;
  featureOf(placement: Placement, origin: Vec3): F;
  coverage(seen: Seen): Coverage;
  /** Tilting the shape by ε moves the point (x, y, z), seen in the placement's axes, by ε times this, mm. */
  lever(x: number, y: number, z: number, placement: Placement): number;
}

/**
 * Centers for a radius taken as given instead of the fitted one: on either side of the surface where it is nearest the origin,
 * and where it is.
 */
export function centersFor(at: Vec3, fitted: number, given: number): Vec3[] {
  if (!(length(at) > 1e-6 * fitted)) return [at];
  const outward = normalize(scale(at, -1));
  const surface = add(at, scale(outward, fitted));
  return [subtract(surface, scale(outward, given)), add(surface, scale(outward, given)), at];
}
