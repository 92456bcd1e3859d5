import { z } from 'zod';
import { lineThrough, planeThrough } from '../../../construct/through.js';
import type { Feature } from '../../../feature/feature.js';
import { centerOf, haveCenter } from '../../../feature/roles.js';
import { together } from '../../../text/in-words.js';
import { type ConstructForm, each } from '../../step/form.js';
import { aFeature, base } from './base.js';

const schema = z
  .strictObject({
    ...base,
    through: z.array(aFeature).min(2).max(3).describe('Two points or centers: a line. Three: a plane.'),
  })
  .describe('The line through two points, or the plane through three.');

export const throughForm: ConstructForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => each('through', step.through, haveCenter),
  yields: (step) => (step.through.length === 2 ? 'line' : 'plane'),
  make(_step, features) {
    const [first, second, third] = (features as readonly Feature[]).map(centerOf);
    return third === undefined ? lineThrough(first, second) : planeThrough(first, second, third);
  },
  inWords: (step, { kind }) => `${kind} through ${together(step.through)}`,
};
