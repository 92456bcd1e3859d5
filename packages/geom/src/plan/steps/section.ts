import { z } from 'zod';
import { havePlane } from '../../construct/roles.js';
import { axis, common, frameReference, length, positiveLength, reference } from '../fields.js';
import type { StepCheck } from '../kind.js';

const base = {
  step: z.literal('section'),
  ...common,
  thickness: positiveLength.optional().describe('Of a cloud: take the points within half of this to either side, mm.'),
};

/** Cutting the scan with a plane. */
export const sectionSchemas = {
  plane: z
    .strictObject({
      ...base,
      plane: reference('a plane').describe('Id of an earlier plane: cut parallel to it.'),
      offset: length.optional().describe('mm along its normal; default 0.'),
    })
    .describe('A cut parallel to a plane.'),
  axis: z
    .strictObject({
      ...base,
      axis: axis.describe('Cut square to this axis.'),
      at: length.describe('Coordinate on the axis, mm.'),
      in: frameReference.optional(),
    })
    .describe('A cut square to an axis.'),
};

export type SectionStep = z.infer<(typeof sectionSchemas)[keyof typeof sectionSchemas]>;

export const sectionCheck: StepCheck<SectionStep> = {
  forms: sectionSchemas,
  references(step) {
    if ('plane' in step) return [{ path: ['plane'], id: step.plane, accepts: havePlane }];
    return step.in === undefined ? [] : [{ path: ['in'], id: step.in, accepts: ['frame'] }];
  },
  yields: () => 'section',
};
