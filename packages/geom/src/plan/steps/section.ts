import { z } from 'zod';
import { offsetPlane } from '../../construct/offset.js';
import { derive, type Uncertain } from '../../construct/propagate.js';
import type { Plane } from '../../feature/feature.js';
import { havePlane, planeOf } from '../../feature/roles.js';
import { addScaled } from '../../math/vec3.js';
import { cutMesh } from '../../section/cut/cut.js';
import type { Context } from '../step/context.js';
import { axis, common, frameReference, length, positiveLength, reference } from '../step/fields.js';
import type { OutcomeOf, Reference, StepKind } from '../step/kind.js';
import { profileAsked } from './section/profile.js';
import { profileRow } from './section/profile-row.js';
import { profileSchema } from './section/profile-schema.js';

const base = {
  step: z.literal('section'),
  ...common,
  thickness: positiveLength.optional().describe('Of a cloud: take the points within half of this to either side, mm.'),
  profile: profileSchema.optional(),
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
function cuttingPlane(step: SectionStep, context: Context): Uncertain<Plane> {
  if ('plane' in step)
    return derive([context.feature(step.plane)], (f) => offsetPlane(planeOf(f), step.offset ?? 0).feature);
  return derive([context.frame(step.in)], (frame): Plane => {
    const normal = frame[step.axis];
    return { kind: 'plane', point: addScaled(frame.origin, normal, step.at), normal };
  });
}

export const sectionStep: StepKind<SectionStep, OutcomeOf<'section'>> = {
  forms: sectionSchemas,
  references(step) {
    const found: Reference[] = [];
    if ('plane' in step) found.push({ path: ['plane'], id: step.plane, accepts: havePlane });
    else if (step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    const frame = step.profile?.in;
    if (frame !== undefined) found.push({ path: ['profile', 'in'], id: frame, accepts: ['frame'] });
    return found;
  },
  yields: () => 'section',
  run(step, context) {
    const half = step.thickness === undefined ? {} : { halfThickness: step.thickness / 2 };
    const plane = cuttingPlane(step, context);
    const section = cutMesh(context.scan, plane.value, half);
    const outcome = { kind: 'section', id: step.id, section } as const;
    const asked = step.profile;
    if (!asked) return { outcome, uncertain: plane };
    const frame = context.frame(asked.in ?? ('in' in step ? step.in : undefined)).value;
    const made = profileAsked(section, asked, frame, context.noise, context.profileOf);
    const { polyline, profile, order } = made;
    return {
      outcome: { ...outcome, profile: { polyline, profile, order } },
      uncertain: plane,
      row: () => profileRow(made, context.scanner, asked.limits),
    };
  },
};
