import { z } from 'zod';
import { distanceOf } from '../../../construct/distance.js';
import { derive } from '../../../construct/propagate.js';
import { haveCenter } from '../../../feature/roles.js';
import { dot, subtract } from '../../../math/vec3.js';
import { together, withArticle } from '../../../text/in-words.js';
import { plusMinusOfLength, times } from '../../step/doubt.js';
import { axis, frameReference, vector } from '../../step/fields.js';
import { each, type MeasureForm, one } from '../../step/form.js';
import { featureKinds } from '../../step/names.js';
import { placeOf } from '../../step/place-readings.js';
import { fromZero, reading } from '../../step/reading.js';
import { aFeature, base } from './base.js';

const schema = z
  .strictObject({
    ...base,
    distance: z
      .tuple([aFeature, aFeature])
      .describe('Two features. To a plane it is signed: positive on the side its normal points to.'),
    along: axis
      .optional()
      .describe('Only the part along this axis, second minus first; both need a point or a center.'),
    at: vector.optional().describe('Between two planes: the point at which to measure.'),
    in: frameReference.optional().describe('Id of an earlier frame for along and at. Absent: scan axes.'),
  })
  .describe('The distance between two features, mm.');

export const distanceForm: MeasureForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => [
    ...each('distance', step.distance, step.along === undefined ? featureKinds : haveCenter),
    ...one('in', step.in, ['frame']),
  ],
  object(step, kinds) {
    const pair = kinds.slice(0, 2);
    if (step.at === undefined || pair.every((k) => k === undefined || k === 'plane')) return [];
    const found = together(pair.map((kind) => withArticle(kind ?? 'thing')));
    return [{ path: ['at'], expected: 'no point unless both features are planes', found }];
  },
  measure(step, context) {
    const [first, second] = step.distance.map((id) => context.feature(id));
    const frame = context.frame(step.in);
    const { along, at } = step;
    if (along !== undefined) {
      const part = derive([first, second, frame], (a, b, f) => dot(f[along], subtract(placeOf(b), placeOf(a))));
      return {
        reading: reading('distance', part),
        between: [placeOf(first.value), placeOf(second.value)],
        warnings: [],
      };
    }
    const whole = derive([first, second, frame], (a, b, f) => distanceOf(a, b, at && { at: f.toScan(at) }));
    const { value, from, to, warnings } = whole.value;
    // With a sign it does not bend at 0; without one it does.
    const signed = first.value.kind === 'plane' || second.value.kind === 'plane';
    const quoted = signed
      ? reading(
          'distance',
          derive([whole], (d) => d.value),
        )
      : ({
          name: 'distance',
          value,
          unit: 'mm',
          ...times(plusMinusOfLength(derive([whole], (d) => subtract(d.to, d.from))), 1),
          ends: fromZero,
        } as const);
    return { reading: quoted, between: [from, to], warnings };
  },
  inWords(step) {
    const [first, second] = step.distance;
    const which = step.along === undefined ? '' : ` along ${step.along} of ${step.in ?? 'the scan'}`;
    return `distance from ${first} to ${second}${which}`;
  },
};
