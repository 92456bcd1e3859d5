import { z } from 'zod';
import { axis, common, frameReference, limits, reference, vector } from '../fields.js';

const base = { step: z.literal('measure'), ...common, limits: limits.optional() };
const feature = reference('a feature');

/** Distances and angles between features. */
export const measureSchemas = {
  distance: z
    .strictObject({
      ...base,
      distance: z
        .tuple([feature, feature])
        .describe('Two features. To a plane it is signed: positive on the side its normal points to.'),
      along: axis
        .optional()
        .describe('Only the part along this axis, second minus first; both need a point or a center.'),
      at: vector.optional().describe('Between two planes: the point at which to measure.'),
      in: frameReference.optional().describe('Id of an earlier frame for along and at. Absent: scan axes.'),
    })
    .describe('The distance between two features, mm.'),
  angle: z
    .strictObject({ ...base, angle: z.tuple([feature, feature]).describe('Two features with a direction.') })
    .describe('The angle between two features, degrees.'),
};
