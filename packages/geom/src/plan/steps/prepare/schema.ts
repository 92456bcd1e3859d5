import { z } from 'zod';
import { common, frameReference, length, positiveLength, reference, vector } from '../../step/fields.js';

const base = { step: z.literal('prepare'), ...common };

const box = z
  .strictObject({ min: vector, max: vector })
  .refine(({ min, max }) => min.every((m, i) => m <= max[i]!), { error: 'min no larger than max in x, y and z' })
  .describe('Inside a box along the axes.');
const sphere = z.strictObject({ center: vector, radius: positiveLength }).describe('Inside a sphere.');
const halfSpace = z
  .union([
    z.strictObject({
      point: vector,
      normal: vector.refine((n) => n.some((c) => c !== 0), { error: 'a direction that is not 0' }),
    }),
    z.strictObject({
      plane: reference('a plane'),
      offset: length.optional().describe('mm along its normal; default 0.'),
    }),
  ])
  .describe('On the side of a plane its normal points to.');

const limit = z.number().positive();
const place = z.union([reference('a feature with a center'), vector]);

/** Making the scan ready: one schema a way to do it, keyed by the field that tells it. */
export const prepareSchemas = {
  crop: z
    .strictObject({
      ...base,
      crop: z
        .strictObject({
          box: box.optional(),
          sphere: sphere.optional(),
          halfSpace: halfSpace.optional(),
          drop: z.boolean().optional().describe('Leave out what is inside instead of what is outside. Default false.'),
        })
        .refine((c) => [c.box, c.sphere, c.halfSpace].filter((s) => s !== undefined).length === 1, {
          error: 'one of box, sphere or halfSpace',
        })
        .describe('Keep the points inside a shape.'),
      in: frameReference.optional(),
    })
    .describe('Cropping the scan.'),
  pieces: z
    .strictObject({
      ...base,
      pieces: z
        .strictObject({
          area: limit.optional().describe('Leave out pieces under this area, mm².'),
          triangles: limit.optional().describe('Leave out pieces of fewer triangles.'),
          share: limit.max(1).optional().describe('Leave out pieces under this share of the area of the largest.'),
        })
        .refine((p) => Object.values(p).some((v) => v !== undefined), { error: 'area, triangles or share' })
        .describe('The least a connected piece of the mesh must have to stay.'),
    })
    .describe('Leaving out small pieces of a mesh.'),
  strays: z
    .strictObject({
      ...base,
      strays: z
        .strictObject({
          neighbors: z.int().positive().optional().describe('How many neighbors a point is judged by. Default 8.'),
          sigmas: limit
            .optional()
            .describe('Standard deviations their mean distance may be above the usual one. Default 4.'),
        })
        .describe('What is a stray point; {} takes the defaults.'),
    })
    .describe('Leaving out stray points of a cloud.'),
  thin: z
    .strictObject({
      ...base,
      thin: z
        .strictObject({
          cell: positiveLength.describe('Edge of the cubes that keep one point each, mm.'),
          keep: z
            .enum(['nearest', 'mean'])
            .optional()
            .describe('The point nearest to the mean of its cell, or the mean itself. Default nearest.'),
        })
        .describe('How far.'),
    })
    .describe('Thinning a cloud.'),
  weld: z
    .strictObject({
      ...base,
      weld: z
        .strictObject({
          within: length
            .nonnegative()
            .optional()
            .describe('Points up to this far apart become one, mm. Absent: those at exactly one place.'),
        })
        .describe('What is one point; {} takes the default.'),
    })
    .describe('Merging points that are one.'),
  duplicates: z
    .strictObject({ ...base, duplicates: z.literal(true).describe('Triangles with the corners of an earlier one go.') })
    .describe('Leaving out duplicate triangles.'),
  slivers: z
    .strictObject({
      ...base,
      slivers: z
        .strictObject({
          height: length.nonnegative().optional().describe('The least height a triangle must exceed, mm. Default 0.'),
        })
        .describe('What is too narrow; {} takes the default.'),
    })
    .describe('Leaving out triangles too narrow to have a face.'),
  holes: z
    .strictObject({
      ...base,
      holes: z
        .strictObject({
          over: length.nonnegative().optional().describe('Only those with a longer rim, mm. Default 0.'),
        })
        .describe('Which holes to list; {} lists all.'),
    })
    .describe('Listing the rims of holes and of the mesh itself, with their lengths. Nothing is filled.'),
  scale: z
    .strictObject({
      ...base,
      scale: z
        .strictObject({
          between: z
            .tuple([place, place])
            .describe('Ids of two features with a center, or places: the scan point nearest to each is taken.'),
          is: positiveLength.describe('How far apart they are in truth, mm.'),
          uncertainty: positiveLength
            .optional()
            .describe('± mm of that as written on the drawing (coverage factor 2). Absent: it is taken as it stands.'),
          apply: z
            .boolean()
            .optional()
            .describe(
              'Scale the scan by it. Default false: the length is checked, and the factor told. Once scaled, the scale of the scan is as uncertain as the known length, whatever the scanner states.',
            ),
        })
        .describe('A known length.'),
      in: frameReference.optional(),
    })
    .describe('Holding a known length against the scan.'),
};

export type PrepareStep = z.infer<(typeof prepareSchemas)[keyof typeof prepareSchemas]>;
export type CropStep = z.infer<typeof prepareSchemas.crop>;
export type ScaleStep = z.infer<typeof prepareSchemas.scale>;
