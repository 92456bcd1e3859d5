import { z } from 'zod';
import {
  byHand,
  common,
  degrees,
  frameReference,
  namedLimits,
  positiveLength,
  reference,
  sizeByHand,
  trim,
  vector,
} from '../../step/fields.js';
import { adviceFields } from '../../step/size-advice.js';

const shapes = ['plane', 'line', 'circle', 'sphere', 'cylinder', 'cone', 'slot', 'ellipse'] as const;

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
          z
            .strictObject({
              from: vector,
              to: vector,
              long: z.boolean().optional().describe('Around a closed outline: the longer way instead of the shorter.'),
            })
            .describe('The section between its points nearest to these two.'),
          z.strictObject({ box }).describe('The parts of the section inside a box.'),
          z
            .strictObject({ sphere: z.strictObject({ center: vector, radius: positiveLength }) })
            .describe('The parts of the section inside a sphere.'),
        ])
        .optional()
        .describe('Of a section: the part to fit. Absent: all of it.'),
      every: positiveLength
        .optional()
        .describe(
          'Of a section: places so many mm apart along it, instead of where it crosses the edges of triangles.',
        ),
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
      suggest: z
        .boolean()
        .optional()
        .describe(
          'Also say which of plane, sphere, cylinder and cone the points are, with the runner-up; a warning where it is another.',
        ),
      trim: trim.optional(),
      known: z
        .strictObject({
          radius: sizeByHand.optional().describe('Measured by hand: mm, or the id of the step that has it.'),
          diameter: sizeByHand.optional().describe('Measured by hand: mm, or the id of the step that has it.'),
          direction: z
            .union([reference('a feature with a direction'), vector])
            .optional()
            .describe('Direction of the axis or normal: three numbers, or the id of an earlier feature that has it.'),
          halfAngle: byHand(degrees.positive().lt(90))
            .optional()
            .describe('Of a cone, degrees between axis and surface.'),
        })
        .refine((k) => Object.keys(k).length > 0, { error: 'radius, diameter, direction or halfAngle' })
        .refine((k) => k.radius === undefined || k.diameter === undefined, { error: 'radius or diameter, not both' })
        .optional()
        .describe('Taken as given: a caliper gives the size, a datum the direction, the scan the place.'),
      plane: reference('a plane')
        .optional()
        .describe('Of a circle, a slot or an ellipse: fit it in this earlier plane.'),
      ...adviceFields,
      limits: namedLimits.optional(),
    })
    .describe('Fit a shape to points.'),
};

export type FitStep = z.infer<(typeof fitSchemas)[keyof typeof fitSchemas]>;

export type Shape = FitStep['shape'];
