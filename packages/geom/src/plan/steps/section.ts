import { z } from 'zod';
import { offsetPlane } from '../../construct/offset.js';
import { havePlane, planeOf } from '../../construct/roles.js';
import type { Plane } from '../../feature/feature.js';
import { cutMesh } from '../../section/cut.js';
import type { Context } from '../context.js';
import { axis, common, frameReference, length, positiveLength, reference } from '../fields.js';
import type { OutcomeOf, StepKind } from '../kind.js';

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

/** The plane a section is cut with. Along an axis its normal is the axis. */
function cuttingPlane(step: SectionStep, context: Context): Plane {
  if ('plane' in step) return offsetPlane(planeOf(context.feature(step.plane)), step.offset ?? 0).feature;
  const frame = context.frame(step.in);
  const at = { x: 0, y: 0, z: 0, [step.axis]: step.at };
  return { kind: 'plane', point: frame.toScan([at.x, at.y, at.z]), normal: frame[step.axis] };
}

export const sectionStep: StepKind<SectionStep, OutcomeOf<'section'>> = {
  forms: sectionSchemas,
  references(step) {
    if ('plane' in step) return [{ path: ['plane'], id: step.plane, accepts: havePlane }];
    return step.in === undefined ? [] : [{ path: ['in'], id: step.in, accepts: ['frame'] }];
  },
  yields: () => 'section',
  run(step, context) {
    const half = step.thickness === undefined ? {} : { halfThickness: step.thickness / 2 };
    return { kind: 'section', id: step.id, section: cutMesh(context.scan, cuttingPlane(step, context), half) };
  },
};
