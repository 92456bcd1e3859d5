import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import type { Vec3 } from '../../math/vec3.js';
import type { Coverage } from '../fit.js';

/** Moves that place a shape in a plane and size it: five, for a slot and for an ellipse. */
export const MOVES = 5;

/** Signed distance of (x, y) from a shape, positive outside; its derivatives by the five moves go into `gradient`. */
export type FlatDistance = (x: number, y: number, gradient: Float64Array) => number;

/** What the fit in a plane asks of a shape with state `S`. */
export interface FlatShape<S, F extends Feature> {
  readonly kind: F['kind'];
  /** States to start from, of which one lies in the basin of the best fit. */
  starts(xy: Float64Array): S[];
  /** Of a feature with its center at `at` and its direction along `along`, in the plane's axes. */
  stateOf(feature: F, at: readonly [number, number], along: readonly [number, number]): S;
  /** Distances and their derivatives by the moves the fit takes. */
  distance(state: S): FlatDistance;
  moved(state: S, by: ArrayLike<number>): S;
  /** Of states that fit as well the one to report. */
  settle(state: S, xy: Float64Array): S;
  /** Center and direction in the plane, for the feature and for the axes of its uncertainty. */
  place(state: S): { readonly x: number; readonly y: number; readonly ux: number; readonly uy: number };
  feature(state: S, center: Vec3, normal: Vec3, direction: Vec3): F;
  /** Derivatives by the parameters of the table of {@link Uncertainty}. */
  tableDistance(state: S): FlatDistance;
  /** Half its longest extent, mm. */
  reach(state: S): number;
  /**
   * What the points show of it, and what a person should know of that.
   *
   * @throws FettleError `fit-undetermined`
   */
  judge(
    state: S,
    xy: Float64Array,
    rms: number,
    covariance: Float64Array,
  ): { readonly coverage: Coverage; readonly warnings: readonly Warning[] };
}
