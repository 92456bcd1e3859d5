import { z } from 'zod';
import { axis, common, frameReference, limits, positiveLength, reference, shortText } from '../../step/fields.js';
import { adviceFields } from '../../step/size-advice.js';

/** Sizes of features a caliper can take, as the job sheet names them. */
export const dimensions = ['diameter', 'length', 'width', 'major-diameter', 'minor-diameter'] as const;

const base = {
  step: z.literal('by-hand'),
  ...common,
  note: common.note.describe('What was measured, and where, in words; shown on the job sheet.'),
  uncertainty: positiveLength.optional().describe('± mm as written on the drawing (coverage factor 2).'),
  instrument: shortText.min(1).optional().describe('What it was measured with: caliper, micrometer, steel rule.'),
  limits: limits.optional(),
};

export const byHandSchemas = {
  size: z
    .strictObject({
      ...base,
      size: positiveLength.describe('What the instrument read, mm. Fits may name this step as their known size.'),
      of: reference('a circle, a sphere, a cylinder, a slot or an ellipse')
        .optional()
        .describe('Id of an earlier feature with this size: what the scan says of it stands beside.'),
      dimension: z
        .enum(dimensions)
        .optional()
        .describe('Which size of the feature. Default diameter; of a slot or an ellipse to be said.'),
      ...adviceFields,
    })
    .describe('A size measured by hand.'),
  distance: z
    .strictObject({
      ...base,
      distance: positiveLength.describe('What the instrument read, mm.'),
      between: z
        .tuple([reference('a feature'), reference('a feature')])
        .describe('Two earlier features: circles and spheres by their centers, cylinders and cones by their axes.'),
      along: axis.optional().describe('Only the part along this axis; both need a point or a center.'),
      in: frameReference.optional().describe('Id of an earlier frame for along. Absent: scan axes.'),
    })
    .describe('A distance between two features measured by hand.'),
};

export type SizeByHand = z.infer<typeof byHandSchemas.size>;
export type DistanceByHand = z.infer<typeof byHandSchemas.distance>;
export type ByHandStep = SizeByHand | DistanceByHand;
