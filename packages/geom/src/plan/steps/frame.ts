import { z } from 'zod';
import { haveCenter, havePlane } from '../../construct/roles.js';
import { common, reference, signedAxis } from '../fields.js';
import type { StepCheck } from '../kind.js';

const base = { step: z.literal('frame'), ...common };
const plus = z
  .strictObject({
    plane: signedAxis.describe('The axis the normal of the (first) plane points along.'),
    line: signedAxis.describe('The axis the line points along.'),
  })
  .refine((p) => p.plane.at(-1) !== p.line.at(-1), { error: 'two different axes' })
  .optional()
  .describe('Which axes plane and line give, with sign. Default {"plane": "z", "line": "x"}.');

/** A datum frame (ISO 5459): from a plane, a line and a point, or from three planes. */
export const frameSchemas = {
  plane: z
    .strictObject({
      ...base,
      plane: reference('a plane').describe('Primary datum: its normal is one axis exactly.'),
      line: reference('a line, an axis or a plane').describe(
        'Secondary datum: its direction laid into the plane is the second axis. Of a plane: the line where it meets the first.',
      ),
      origin: reference('a point, or anything with a center or an axis').describe(
        'The origin is this point laid onto the plane; of an axis, where it meets the plane.',
      ),
      plus,
    })
    .describe('A datum frame from plane, line and point.'),
  planes: z
    .strictObject({
      ...base,
      planes: z
        .tuple([reference('a plane'), reference('a plane'), reference('a plane')])
        .describe(
          'Primary, secondary, tertiary datum; they need not be square. Line: where the first two meet. Origin: where all three meet.',
        ),
      plus,
    })
    .describe('A datum frame from three planes.'),
};

export type FrameStep = z.infer<(typeof frameSchemas)[keyof typeof frameSchemas]>;

/** Kinds a frame takes its second axis from: a direction, or a plane that meets the first in a line. */
const lines = ['line', 'cylinder', 'cone', 'plane'] as const;
/** Kinds a frame takes its origin from: a center, or an axis that pierces the plane. */
const origins = [...haveCenter, 'line', 'cylinder'] as const;

export const frameCheck: StepCheck<FrameStep> = {
  forms: frameSchemas,
  references(step) {
    if ('planes' in step) return step.planes.map((id, i) => ({ path: ['planes', i], id, accepts: havePlane }));
    return [
      { path: ['plane'], id: step.plane, accepts: havePlane },
      { path: ['line'], id: step.line, accepts: lines },
      { path: ['origin'], id: step.origin, accepts: origins },
    ];
  },
  yields: () => 'frame',
};
