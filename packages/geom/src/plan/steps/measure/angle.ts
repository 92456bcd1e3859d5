import { z } from 'zod';
import { angleOf } from '../../../construct/angle.js';
import { derive } from '../../../construct/propagate.js';
import { directionOf, haveDirection } from '../../../feature/roles.js';
import { plusMinusOfAngle, times } from '../../step/doubt.js';
import { each, type MeasureForm } from '../../step/form.js';
import { acute, inDegrees } from '../../step/reading.js';
import { aFeature, base } from './base.js';

const schema = z
  .strictObject({ ...base, angle: z.tuple([aFeature, aFeature]).describe('Two features with a direction.') })
  .describe('The angle between two features, 0° to 90°.');

export const angleForm: MeasureForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => each('angle', step.angle, haveDirection),
  measure(step, context) {
    const [first, second] = step.angle.map((id) => context.feature(id));
    const doubt = plusMinusOfAngle(derive([first], directionOf), derive([second], directionOf));
    const value = angleOf(first.value, second.value) * inDegrees;
    return { reading: { name: 'angle', value, unit: '°', ...times(doubt, inDegrees), ends: acute }, warnings: [] };
  },
  inWords: (step) => `angle between ${step.angle.join(' and ')}`,
};
