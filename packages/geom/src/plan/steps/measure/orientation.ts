import { z } from 'zod';
import { derive } from '../../../construct/propagate.js';
import { directionOf, haveAxis } from '../../../feature/roles.js';
import { addScaled, dot, scale, type Vec3 } from '../../../math/vec3.js';
import { parallelism, perpendicularity } from '../../../relate/orientation.js';
import type { Toleranced } from '../../../relate/toleranced.js';
import { across, type Datum, type Zone, type ZoneOptions } from '../../../relate/zone.js';
import type { Context } from '../../step/context.js';
import { plusMinus, plusMinusOfLength, times, withHeights } from '../../step/doubt.js';
import { reference, trim } from '../../step/fields.js';
import { type Measured, type MeasureForm, one } from '../../step/form.js';
import { fromZero } from '../../step/reading.js';
import { base } from './base.js';
import { heightsIn, keptSquare, partOf, tolerancedFrom } from './toleranced.js';

const what = reference('a plane, a line, a cylinder or a cone');
const to = reference('a plane or an axis: the datum');
const held = ['plane', 'line', 'cylinder', 'cone'] as const;

type Orientation = (t: Toleranced, datum: Datum, options: ZoneOptions) => Zone;

/** A zone whose direction follows the datum, with how far its size can be trusted. */
function measured(
  name: string,
  of: Orientation,
  id: string,
  datumId: string,
  share: number | undefined,
  context: Context,
): Measured {
  const t = tolerancedFrom(id, context);
  const feature = context.feature(id);
  const datum = context.feature(datumId);
  const zone = of(t, datum.value as Datum, share === undefined ? {} : { trim: share });
  const parts = zone.deciding.map(({ place, weight }) => ({ place: partOf(feature.value, place), weight }));
  const span = derive([feature], (f) =>
    parts.reduce<Vec3>((sum, p) => addScaled(sum, p.place(f), p.weight), [0, 0, 0]),
  );
  const direction = derive([datum], directionOf);
  const agreement = dot(zone.along, direction.value);
  const isWidthAlong = Math.abs(agreement) > 0.5;
  const doubt =
    t.kind === 'axis' && !isWidthAlong
      ? plusMinusOfLength(derive([span, direction], across))
      : plusMinus(
          derive([span, direction], (s, d) =>
            dot(s, isWidthAlong ? scale(d, Math.sign(agreement)) : keptSquare(zone.along, d)),
          ),
        );
  const whole = t.kind === 'surface' ? withHeights(doubt, heightsIn(zone, [t.plane])) : doubt;
  return { reading: { name, value: zone.value, unit: 'mm', ...times(whole, 1), ends: fromZero }, warnings: [] };
}

const parallel = z
  .strictObject({ ...base, parallelism: what, to, trim: trim.optional() })
  .describe('Parallelism by ISO 1101: the zone parallel to the datum that holds the feature, mm.');

export const parallelismForm: MeasureForm<z.infer<typeof parallel>> = {
  schema: parallel,
  operands: (step) => [...one('parallelism', step.parallelism, held), ...one('to', step.to, ['plane', ...haveAxis])],
  measure: (step, context) => measured('parallelism', parallelism, step.parallelism, step.to, step.trim, context),
  inWords: (step) => `parallelism of ${step.parallelism} to ${step.to}`,
};

const square = z
  .strictObject({ ...base, perpendicularity: what, to, trim: trim.optional() })
  .describe('Perpendicularity by ISO 1101: the zone square to the datum that holds the feature, mm.');

export const perpendicularityForm: MeasureForm<z.infer<typeof square>> = {
  schema: square,
  operands: (step) => [
    ...one('perpendicularity', step.perpendicularity, held),
    ...one('to', step.to, ['plane', ...haveAxis]),
  ],
  measure: (step, context) =>
    measured('perpendicularity', perpendicularity, step.perpendicularity, step.to, step.trim, context),
  inWords: (step) => `perpendicularity of ${step.perpendicularity} to ${step.to}`,
};
