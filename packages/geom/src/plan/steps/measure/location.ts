import { z } from 'zod';
import { midplane } from '../../../construct/midplane.js';
import { footOnLine } from '../../../construct/project.js';
import { derive, type Uncertain } from '../../../construct/propagate.js';
import type { Feature } from '../../../feature/feature.js';
import { axisOf, centerOf, directionOf, haveAxis, haveCenter, planeOf, type WithAxis } from '../../../feature/roles.js';
import { addScaled, dot, scale, subtract, type Vec3 } from '../../../math/vec3.js';
import { bothOf } from '../../../relate/faces.js';
import { coaxiality, nominalAxis, position, symmetry } from '../../../relate/location.js';
import type { Toleranced } from '../../../relate/toleranced.js';
import type { Zone } from '../../../relate/zone.js';
import { together } from '../../../text/in-words.js';
import type { Context } from '../../step/context.js';
import { plusMinus, plusMinusOfLength, times, withHeights } from '../../step/doubt.js';
import { axis, frameReference, reference, trim, vector } from '../../step/fields.js';
import { each, type Measured, type MeasureForm, one } from '../../step/form.js';
import { featureKinds } from '../../step/names.js';
import { fromZero } from '../../step/reading.js';
import { base } from './base.js';
import { partOf, tolerancedFrom } from './toleranced.js';

const trimmed = (share: number | undefined) => (share === undefined ? {} : { trim: share });

/** A zone about a middle: twice the way from there to the place that decides it. */
function measured(name: string, { value, along, deciding }: Zone, doubt: number | undefined): Measured {
  const [{ place }] = deciding;
  return {
    reading: { name, value, unit: 'mm', ...times(doubt, 2), ends: fromZero },
    between: [addScaled(place, along, -value / 2), place],
    warnings: [],
  };
}

/** The place that decides a zone as part of its feature: a center is the feature's own. */
function decidingPart(t: Toleranced, zone: Zone, feature: Uncertain<Feature>): Uncertain<Vec3> {
  if (t.kind === 'center') return derive([feature], (f) => centerOf(f).position);
  return derive([feature], partOf(feature.value, zone.deciding[0].place));
}

const place = z
  .strictObject({
    ...base,
    position: reference('a feature'),
    in: frameReference,
    at: vector.describe('Where the feature should be, in the frame: its center, a point of its axis, or of its face.'),
    along: axis
      .optional()
      .describe(
        'Axis of the frame its axis or normal should follow; absent: the nearest. Of a center: only its distance from this axis counts; absent: all of it.',
      ),
    trim: trim.optional(),
  })
  .describe(
    'Position by ISO 1101: the zone about the true place that holds the feature, mm. Twice the largest distance.',
  );

export const positionForm: MeasureForm<z.infer<typeof place>> = {
  schema: place,
  operands: (step) => [...one('position', step.position, featureKinds), ...one('in', step.in, ['frame'])],
  measure(step, context) {
    const t = tolerancedFrom(step.position, context);
    const feature = context.feature(step.position);
    const frame = context.frame(step.in);
    const nominal = { at: step.at, ...(step.along !== undefined && { along: step.along }) };
    const zone = position(t, frame.value, nominal, trimmed(step.trim));
    const deciding = decidingPart(t, zone, feature);
    const from = derive([frame], (f) => f.toScan(step.at));
    if (t.kind === 'surface') {
      const followed = nominalAxis(t.plane.normal, frame.value, nominal);
      const off = derive([deciding, from, frame], (p, q, f) => dot(subtract(p, q), f[followed]));
      // Half the zone: the way to the place that decides it, to either side.
      const [{ place }] = zone.deciding;
      const height = Math.abs(dot(subtract(place, t.plane.point), t.plane.normal));
      return measured('position', zone, withHeights(plusMinus(off), height));
    }
    const followed = t.kind === 'center' ? step.along : nominalAxis(directionOf(feature.value), frame.value, nominal);
    const way = derive([deciding, from, frame], (p, q, f) =>
      followed === undefined ? subtract(p, q) : subtract(p, footOnLine(p, { point: q, direction: f[followed] })),
    );
    return measured('position', zone, plusMinusOfLength(way));
  },
  inWords: (step) =>
    `position of ${step.position} at ${step.at.join(', ')} in ${step.in}${step.along === undefined ? '' : ` about ${step.along}`}`,
};

const coaxial = z
  .strictObject({
    ...base,
    coaxiality: reference('a line, a cylinder, a cone or anything with a center'),
    to: reference('an axis: the datum'),
  })
  .describe(
    'Coaxiality by ISO 1101: the cylinder about the datum axis that holds the axis, mm. Twice the largest distance.',
  );

export const coaxialityForm: MeasureForm<z.infer<typeof coaxial>> = {
  schema: coaxial,
  operands: (step) => [
    ...one('coaxiality', step.coaxiality, ['line', 'cylinder', ...haveCenter]),
    ...one('to', step.to, haveAxis),
  ],
  measure(step, context) {
    const t = tolerancedFrom(step.coaxiality, context);
    const datum = context.feature(step.to);
    const zone = coaxiality(t, datum.value as WithAxis);
    const deciding = decidingPart(t, zone, context.feature(step.coaxiality));
    const way = derive([deciding, datum], (p, d) => subtract(p, footOnLine(p, axisOf(d))));
    return measured('coaxiality', zone, plusMinusOfLength(way));
  },
  inWords: (step) => `coaxiality of ${step.coaxiality} to ${step.to}`,
};

const middle = z
  .strictObject({
    ...base,
    symmetry: z
      .union([reference('an axis or anything with a center'), z.tuple([reference('a plane'), reference('a plane')])])
      .describe('An axis, a center, or two faces, whose middle counts.'),
    to: reference('a plane: the datum mid-plane'),
    trim: trim.optional(),
  })
  .describe(
    'Symmetry by ISO 1101: the slab about the datum mid-plane that holds the middle, mm. Twice the largest distance.',
  );

export const symmetryForm: MeasureForm<z.infer<typeof middle>> = {
  schema: middle,
  operands: (step) => [
    ...(typeof step.symmetry === 'string'
      ? one('symmetry', step.symmetry, ['line', 'cylinder', ...haveCenter])
      : each('symmetry', step.symmetry, ['plane'])),
    ...one('to', step.to, ['plane']),
  ],
  measure(step, context) {
    const { t, feature } = middleOf(step.symmetry, context);
    const datum = context.feature(step.to);
    const zone = symmetry(t, planeOf(datum.value), trimmed(step.trim));
    const deciding = decidingPart(t, zone, feature);
    const off = derive([deciding, datum], (p, d) => {
      const { point, normal } = planeOf(d);
      return scale(normal, dot(normal, subtract(p, point)));
    });
    return measured('symmetry', zone, plusMinusOfLength(off));
  },
  inWords: ({ symmetry: of, to }) => `symmetry of ${typeof of === 'string' ? of : together(of)} about ${to}`,
};

/** An axis or center as it is; of two faces their mid-plane, as far as the two reach. */
function middleOf(
  of: string | readonly [string, string],
  context: Context,
): { t: Toleranced; feature: Uncertain<Feature> } {
  if (typeof of === 'string') return { t: tolerancedFrom(of, context), feature: context.feature(of) };
  const [a, b] = of.map((id) => tolerancedFrom(id, context)) as [Surface, Surface];
  const [first, second] = of.map((id) => context.feature(id));
  const feature = derive([first, second], (p, q): Feature => midplane(planeOf(p), planeOf(q)).feature);
  return { t: { kind: 'surface', plane: planeOf(feature.value), points: bothOf(a.points, b.points) }, feature };
}

type Surface = Extract<Toleranced, { kind: 'surface' }>;
