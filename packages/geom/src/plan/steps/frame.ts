import { z } from 'zod';
import { derive, type Uncertain } from '../../construct/propagate.js';
import type { Warning } from '../../error.js';
import { directionOf, haveCenter, havePlane, planeOf } from '../../feature/roles.js';
import { expandedInWords } from '../../fit/uncertainty/expanded.js';
import { type DatumFrame, type Disagreement, datumFrame, type PlaneLinePoint } from '../../frame/datum-frame.js';
import { either, together } from '../../text/in-words.js';
import type { Context } from '../step/context.js';
import { ofFrame } from '../step/doubt.js';
import { common, namedLimits, reference, signedAxis } from '../step/fields.js';
import { judge } from '../step/judge.js';
import type { OutcomeOf, StepKind } from '../step/kind.js';
import { objectToNames } from '../step/limit-names.js';
import { planeLinePointValues, threePlanesValues } from '../step/names.js';
import type { Limits } from '../step/outcome.js';
import { acute, angleReading, fromZero, type Reading, tellingReading } from '../step/reading.js';

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

function frameFrom(step: FrameStep, context: Context): Uncertain<DatumFrame> {
  const plus = step.plus && { plus: step.plus };
  if ('planes' in step) {
    const [first, second, third] = step.planes.map((id) => context.feature(id));
    return derive([first, second, third], (a, b, c) =>
      datumFrame({ planes: [planeOf(a), planeOf(b), planeOf(c)], ...plus }),
    );
  }
  return derive(
    [context.feature(step.plane), context.feature(step.line), context.feature(step.origin)],
    (plane, line, origin) =>
      datumFrame({
        plane: planeOf(plane),
        line: line as PlaneLinePoint['line'],
        origin: origin as PlaneLinePoint['origin'],
        ...plus,
      }),
  );
}

/** How the datums agreed, as the job sheet tells it. */
function agreement(frame: Uncertain<DatumFrame>, step: FrameStep, context: Context): Reading[] {
  const of = (number: (d: Disagreement) => number) => derive([frame], ({ disagreement }) => number(disagreement));
  if ('planes' in step) {
    const [first, second, third] = step.planes.map((id) => derive([context.feature(id)], directionOf));
    return [
      angleReading('primary-secondary', first, second),
      angleReading('primary-tertiary', first, third),
      angleReading('secondary-tertiary', second, third),
    ];
  }
  // What was made to agree, as a line where the plane meets another, says nothing.
  const found = (name: string, number: (d: Disagreement) => number, unit: 'mm' | '°' = 'mm', ends?: Limits) =>
    tellingReading(name, of(number), unit, step.limits, ends);
  return [
    ...found('line-lean', (d) => d.angle, '°', acute),
    ...found('line-off-plane', (d) => d.distance),
    ...found('origin-off-plane', (d) => d.originOffPlane),
    ...found('origin-off-line', (d) => d.originOffLine, 'mm', fromZero),
  ];
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
    const uncertainty = ofFrame(frame);
    const warnings = [...frame.value.warnings, ...sidesByRule(step, context)];
    return {
      outcome: { kind: 'frame', id: step.id, frame: frame.value, ...(uncertainty && { uncertainty }), warnings },
      uncertain: frame,
      row() {
        const judged = judge(agreement(frame, step, context), step.limits);
        return {
          what: inWords(step),
          values: judged.values,
          ...(uncertainty && { uncertainty: expandedInWords(uncertainty) }),
          warnings: [...warnings, ...judged.warnings],
        };
      },
    };
  },
};

/** Of a cloud without normals: that nothing in it says which way the fitted planes of the frame face. */
function sidesByRule(step: FrameStep, context: Context): Warning[] {
  if (context.normals.areKnown) return [];
  const ids = 'planes' in step ? step.planes : [step.plane];
  const faces = ids.filter((id) => context.points(id) !== undefined);
  if (faces.length === 0) return [];
  return [
    {
      code: 'side-by-rule',
      message:
        `${context.scan.name} has neither triangles nor normals, and does not tell which way ${either(faces)} faces: the normal points, by ` +
        "rule, the way its largest component is positive. If the frame comes out turned over, give the other sign in the step's plus.",
    },
  ];
}

function inWords(step: FrameStep): string {
  const { plane, line } = step.plus ?? { plane: 'z', line: 'x' };
  if ('planes' in step)
    return `datum frame on ${together(step.planes)}: ${plane} square to ${step.planes[0]}, ${line} along ${step.planes[1]}`;
  return `datum frame: ${plane} square to ${step.plane}, ${line} along ${step.line}, origin at ${step.origin}`;
}
