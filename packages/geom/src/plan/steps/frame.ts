import { z } from 'zod';
import { together } from '../../construct/in-words.js';
import { haveCenter, havePlane, planeOf } from '../../construct/roles.js';
import { type DatumFrame, datumFrame, type PlaneLinePoint } from '../../frame/datum-frame.js';
import type { Context } from '../context.js';
import { common, namedLimits, reference, signedAxis } from '../fields.js';
import { judge } from '../judge.js';
import type { OutcomeOf, StepKind } from '../kind.js';
import { objectToNames } from '../limit-names.js';
import { planeLinePointValues, threePlanesValues } from '../names.js';
import { degrees } from '../readings.js';

const base = { step: z.literal('frame'), ...common, limits: namedLimits.optional() };
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

function frameFrom(step: FrameStep, context: Context): DatumFrame {
  const plus = step.plus && { plus: step.plus };
  const feature = (id: string) => context.feature(id);
  if ('planes' in step) {
    const [first, second, third] = step.planes.map((id) => planeOf(feature(id)));
    return datumFrame({ planes: [first, second, third], ...plus });
  }
  return datumFrame({
    plane: planeOf(feature(step.plane)),
    line: feature(step.line) as PlaneLinePoint['line'],
    origin: feature(step.origin) as PlaneLinePoint['origin'],
    ...plus,
  });
}

/** How the datums agreed, as the job sheet tells it. */
function agreement({ disagreement, angles }: DatumFrame) {
  if (angles !== undefined)
    return [
      degrees('primary-secondary', angles.primarySecondary),
      degrees('primary-tertiary', angles.primaryTertiary),
      degrees('secondary-tertiary', angles.secondaryTertiary),
    ];
  return [
    degrees('line-lean', disagreement.angle),
    { name: 'line-off-plane', value: disagreement.distance, unit: 'mm' },
    { name: 'origin-off-plane', value: disagreement.originOffPlane, unit: 'mm' },
    { name: 'origin-off-line', value: disagreement.originOffLine, unit: 'mm' },
  ] as const;
}

export const frameStep: StepKind<FrameStep, OutcomeOf<'frame'>> = {
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
  object: (step) => objectToNames(step.limits, 'planes' in step ? threePlanesValues : planeLinePointValues),
  run(step, context) {
    const frame = frameFrom(step, context);
    return { kind: 'frame', id: step.id, frame, warnings: frame.warnings };
  },
  row(step, outcome) {
    const { plane, line } = step.plus ?? { plane: 'z', line: 'x' };
    const judged = judge(agreement(outcome.frame), step.limits);
    const what =
      'planes' in step
        ? `datum frame on ${together(step.planes)}: ${plane} square to ${step.planes[0]}, ${line} along ${step.planes[1]}`
        : `datum frame: ${plane} square to ${step.plane}, ${line} along ${step.line}, origin at ${step.origin}`;
    return { what, values: judged.values, warnings: [...outcome.warnings, ...judged.warnings] };
  },
};
