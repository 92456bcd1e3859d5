import type { Circle, Cylinder, Feature, Line, Plane } from '../../feature/feature.js';
import type { Points } from '../../scan/scan.js';
import { minimumZoneLine } from '../extremes/line.js';
import type { Contact, Fit } from '../fit.js';
import { fitCircle } from './circle.js';
import { fitCylinder } from './cylinder.js';
import { fitLine } from './line.js';
import { fitPlane } from './plane.js';

export interface FormOptions {
  /** Share of the points left out as extremes, half of it on each side of the zone; in [0, 0.5). Default 0. */
  readonly trim?: number;
  /** First leave out points farther than so many sigmas from the least-squares feature. */
  readonly reject?: number;
}

/** A deviation of form by the minimum-zone criterion (ISO 1101), peak to valley. */
export interface Form<F extends Feature> {
  readonly characteristic: 'flatness' | 'straightness' | 'roundness' | 'cylindricity';
  /** The standard that defines it. */
  readonly standard: string;
  /** Width of the zone, mm; of a line in space the diameter of the cylinder. */
  readonly value: number;
  /** In the middle of the zone. */
  readonly feature: F;
  readonly contacts: readonly Contact[];
  readonly trim: number;
  /** Indices of the points trimmed. */
  readonly trimmed: Uint32Array;
  /** Number of points in the zone. */
  readonly count: number;
}

function formOf<F extends Feature>(
  characteristic: Form<F>['characteristic'],
  standard: string,
  { feature, form, contacts = [], trim = 0, trimmed = new Uint32Array(0), count }: Fit<F>,
): Form<F> {
  return Object.freeze({ characteristic, standard, value: form, feature, contacts, trim, trimmed, count });
}

/** Flatness: width of the narrowest slab that holds the points. @throws FettleError as `fitPlane` does */
export const flatness = (points: Points, options: FormOptions = {}): Form<Plane> =>
  formOf('flatness', 'ISO 12781-1', fitPlane(points, { ...options, criterion: 'minimum-zone' }));

/**
 * Straightness: diameter of the smallest cylinder that holds the points; in a `plane`, seen along its normal, width of
 * the narrowest strip.
 *
 * @throws FettleError as `fitLine` does
 */
export function straightness(points: Points, options: FormOptions & { readonly plane?: Plane } = {}): Form<Line> {
  const { plane, trim, reject } = options;
  if (!plane) return formOf('straightness', 'ISO 12780-1', fitLine(points, { ...options, criterion: 'minimum-zone' }));
  const least = fitLine(points, reject === undefined ? {} : { reject });
  const used: Points = reject === undefined ? points : { positions: points.positions, select: least.used };
  const zone = minimumZoneLine(used, { start: least.feature, plane, ...(trim !== undefined && { trim }) });
  const { feature, form, contacts, trimmed } = zone;
  return Object.freeze({
    characteristic: 'straightness',
    standard: 'ISO 12780-1',
    value: form,
    feature,
    contacts,
    trim: zone.trim,
    trimmed,
    count: least.count - trimmed.length,
  });
}

/**
 * Roundness: width of the narrowest ring that holds the points, in `plane` or else their own. @throws FettleError as
 * `fitCircle` does
 */
export const roundness = (points: Points, options: FormOptions & { readonly plane?: Plane } = {}): Form<Circle> =>
  formOf('roundness', 'ISO 12181-1', fitCircle(points, { ...options, criterion: 'minimum-zone' }));

/**
 * Cylindricity: distance between the nearest two coaxial cylinders that hold the points. @throws FettleError as
 * `fitCylinder` does
 */
export const cylindricity = (points: Points, options: FormOptions = {}): Form<Cylinder> =>
  formOf('cylindricity', 'ISO 12180-1', fitCylinder(points, { ...options, criterion: 'minimum-zone' }));
