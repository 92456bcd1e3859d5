import { z } from 'zod';
import { common, frameReference, length, namedLimits, reference, vector } from '../fields.js';

const base = { step: z.literal('construct'), ...common, limits: namedLimits.optional() };
const feature = reference('a feature');

/** Making features from features. One schema a construction, keyed by the field that tells it. */
export const constructSchemas = {
  intersect: z
    .strictObject({
      ...base,
      intersect: z
        .array(feature)
        .min(2)
        .max(3)
        .describe('Two planes: their line. Three planes: their point. A plane and a line or an axis: their point.'),
    })
    .describe('Where features meet.'),
  project: z
    .strictObject({
      ...base,
      project: reference('a point or anything with a center'),
      onto: reference('a plane, a line or an axis'),
    })
    .describe('The point of a plane, line or axis nearest to a point or center.'),
  midplane: z
    .strictObject({
      ...base,
      midplane: z.tuple([reference('a plane'), reference('a plane')]).describe('Two nearly parallel planes.'),
    })
    .describe('The plane midway between two planes.'),
  midpoint: z
    .strictObject({
      ...base,
      midpoint: z.tuple([feature, feature]).describe('Two points, or things with a center.'),
    })
    .describe('The point midway between two.'),
  through: z
    .strictObject({
      ...base,
      through: z.array(feature).min(2).max(3).describe('Two points or centers: a line. Three: a plane.'),
    })
    .describe('The line through two points, or the plane through three.'),
  offset: z
    .strictObject({
      ...base,
      offset: reference('a plane'),
      by: length.describe('mm along the normal.'),
    })
    .describe('A plane parallel to another.'),
  center: z
    .strictObject({ ...base, center: reference('a circle, a sphere or a cone (its apex)') })
    .describe('The center of a feature as a point.'),
  axis: z
    .strictObject({ ...base, axis: reference('a circle, a cylinder or a cone') })
    .describe('The axis of a feature as a line.'),
  point: z
    .strictObject({ ...base, point: vector, in: frameReference.optional() })
    .describe('A point by its coordinates.'),
};
