import { z } from 'zod';
import { project } from '../../../construct/project.js';
import type { Feature } from '../../../feature/feature.js';
import { haveCenter } from '../../../feature/roles.js';
import { reference } from '../../step/fields.js';
import { type ConstructForm, one } from '../../step/form.js';
import { base } from './base.js';

const schema = z
  .strictObject({
    ...base,
    project: reference('a point or anything with a center'),
    onto: reference('a plane, a line or an axis'),
  })
  .describe('The point of a plane, line or axis nearest to a point or center.');

export const projectForm: ConstructForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => [
    ...one('project', step.project, haveCenter),
    ...one('onto', step.onto, ['plane', 'line', 'cylinder', 'cone']),
  ],
  yields: () => 'point',
  make: (_step, [point, onto]) => project(point as Feature, onto as Feature),
  inWords: (step) => `${step.project} laid onto ${step.onto}`,
};
