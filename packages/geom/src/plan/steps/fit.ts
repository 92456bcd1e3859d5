import { z } from 'zod';
import { common, degrees, frameReference, namedLimits, positiveLength, reference, vector } from '../fields.js';

export const shapes = ['plane', 'line', 'circle', 'sphere', 'cylinder', 'cone'] as const;

const box = z
  .strictObject({ min: vector, max: vector })
  .refine(({ min, max }) => min.every((m, i) => m <= max[i]!), { error: 'min no larger than max in x, y and z' });

export const fitSchemas = {
  to: z
    .strictObject({
      step: z.literal('fit'),
      ...common,
      shape: z.enum(shapes).describe('What to fit.'),
      to: reference('a region or a section, or the word all').describe(
        'Id of an earlier region or section; "all" for the entire scan.',
      ),
      stretch: z
        .union([
          z.strictObject({ from: vector, to: vector }).describe('The section between its points nearest to these two.'),
          z.strictObject({ box }).describe('The part of the section inside a box.'),
        ])
        .optional()
        .describe('Of a section: the part to fit.'),
      in: frameReference.optional(),
      criterion: z
        .enum(['least-squares', 'minimum-zone', 'maximum-inscribed', 'minimum-circumscribed'])
        .optional()
        .describe('Default least-squares.'),
      reject: z.number().positive().optional().describe('Leave out points farther off than this many sigmas.'),
      robust: z
        .boolean()
        .optional()
        .describe('Start by sample consensus: for regions that hold some of another surface.'),
      trim: z
        .number()
        .min(0)
        .lt(0.5)
        .optional()
        .describe('Share of the points left out at the extremes, for the criteria that touch extreme points.'),
      known: z
        .strictObject({
          radius: positiveLength.optional().describe('Measured by hand, mm.'),
          diameter: positiveLength.optional().describe('Measured by hand, mm.'),
          direction: z
            .union([reference('a feature with a direction'), vector])
            .optional()
            .describe('Direction of the axis or normal: three numbers, or the id of an earlier feature that has it.'),
          halfAngle: degrees.positive().lt(90).optional().describe('Of a cone, degrees between axis and surface.'),
        })
        .refine((k) => Object.keys(k).length > 0, { error: 'radius, diameter, direction or halfAngle' })
        .refine((k) => k.radius === undefined || k.diameter === undefined, { error: 'radius or diameter, not both' })
        .optional()
        .describe('Taken as given: a caliper gives the size, a datum the direction, the scan the place.'),
      plane: reference('a plane').optional().describe('Of a circle: fit it in this earlier plane.'),
      limits: namedLimits.optional(),
    })
    .describe('Fit a shape to points.'),
};
