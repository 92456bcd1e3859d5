import { z } from 'zod';
import { offsetPlane } from '../../../construct/offset.js';
import type { Feature } from '../../../feature/feature.js';
import { havePlane, planeOf } from '../../../feature/roles.js';
import { length } from '../../step/fields.js';
import { type ConstructForm, one } from '../../step/form.js';
import { aPlane, base } from './base.js';

const schema = z
  .strictObject({ ...base, offset: aPlane, by: length.describe('mm along the normal.') })
  .describe('A plane parallel to another.');

export const offsetForm: ConstructForm<z.infer<typeof schema>> = {
  schema,
  operands: (step) => one('offset', step.offset, havePlane),
  yields: () => 'plane',
  make: (step, [plane]) => offsetPlane(planeOf(plane as Feature), step.by),
  inWords: (step) => `plane ${step.by} mm along the normal of ${step.offset}`,
};
