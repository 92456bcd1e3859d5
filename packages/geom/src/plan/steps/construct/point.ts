import { z } from 'zod';
import { constructed } from '../../../construct/constructed.js';
import { type Frame, scanFrame } from '../../../math/frame.js';
import { frameReference, vector } from '../../step/fields.js';
import { type ConstructForm, one } from '../../step/form.js';
import { base } from './base.js';

const schema = z
  .strictObject({ ...base, point: vector, in: frameReference.optional() })
  .describe('A point by its coordinates.');

export const pointForm: ConstructForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => one('in', step.in, ['frame']),
  yields: () => 'point',
  make: (step, [frame]) =>
    constructed({ kind: 'point', position: ((frame as Frame | undefined) ?? scanFrame).toScan(step.point) }),
  inWords: (step) => `point as given in ${step.in ?? 'scan axes'}`,
};
