import { FettleError, type Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import { countText, lengthText } from '../../text/number-text.js';
import type { Contact, Optimality } from '../fit.js';

/** What an association other than least squares starts from. */
export interface CriterionOptions<F extends Feature> {
  /**
   * The least-squares feature of the same points: it ranks the points to trim, gives the sign of normals and directions
   * and the plane of a circle. Cylinders and spheres are searched from it; planes, lines in a plane and circles are
   * not.
   */
  readonly start: F;
  /** See {@link trimExtremes}. Share of the points, in [0, 0.5). Default 0: every point counts. */
  readonly trim?: number;
}

/** A feature associated with points by their extremes (ISO 17450-1), and what proves it. */
export interface Association<F extends Feature> {
  /** For a minimum zone the middle of the zone. */
  readonly feature: F;
  /**
   * Width of the zone that holds the points kept, mm: largest less smallest distance. Of a line in space: the zone's
   * diameter.
   */
  readonly form: number;
  readonly contacts: readonly Contact[];
  /** The share asked for. */
  readonly trim: number;
  /** Indices of the points left out, ascending. */
  readonly trimmed: Uint32Array;
  readonly optimality: Optimality;
  /** Passes over the points. */
  readonly iterations: number;
  readonly warnings: readonly Warning[];
}

/** @throws FettleError `too-few-points` */
export function demandPoints(count: number, least: number, what: string): void {
  if (count >= least) return;
  throw new FettleError(
    'too-few-points',
    `${what} needs at least ${least} points after trimming and has ${countText(count)}. ` +
      'Choose a larger region or trim less.',
  );
}

/**
 * A warning where the extremes put a round feature elsewhere than least squares did, by more than a quarter of the
 * radius: then the points do not go far enough around, and what holds the feature are the ends of an arc.
 *
 * @param moved mm
 */
export function awayFromStart(what: string, moved: number, radius: number): Warning[] {
  if (moved <= radius / 4) return [];
  const message =
    `${what} lies ${lengthText(moved)} from the least-squares one of radius ${lengthText(radius)}: the points ` +
    'do not go far enough around for their extremes to hold it. Choose points all around.';
  return [{ code: 'far-from-least-squares', message }];
}

/** What a gauge pin needs and the points do not give. */
export const openArc = (what: string): FettleError =>
  new FettleError(
    'open-arc',
    `The points do not hold a pin: they leave half a circle or more open, or lie inside it. ${what} needs points all around ` +
      'the hole.',
  );
