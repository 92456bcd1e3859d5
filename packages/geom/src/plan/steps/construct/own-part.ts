import { z } from 'zod';
import { constructed } from '../../../construct/constructed.js';
import type { Feature } from '../../../feature/feature.js';
import { axisOf, centerlineOf, centerOf, haveAxis, haveCenter, haveCenterline } from '../../../feature/roles.js';
import { reference } from '../../step/fields.js';
import { type ConstructForm, one } from '../../step/form.js';
import { base } from './base.js';

const center = z
  .strictObject({ ...base, center: reference('a circle, a sphere, a slot, an ellipse or a cone (its apex)') })
  .describe('The center of a feature as a point.');

export const centerForm: ConstructForm<z.infer<typeof center>> = {
  schema: center,
  operands: (step) => one('center', step.center, haveCenter),
  yields: () => 'point',
  make: (_step, [feature]) => constructed(centerOf(feature as Feature)),
  inWords: (step) => `center of ${step.center}`,
};

const axis = z
  .strictObject({ ...base, axis: reference('a circle, a cylinder, a cone, a slot or an ellipse') })
  .describe('The axis of a feature as a line.');

export const axisForm: ConstructForm<z.infer<typeof axis>> = {
  schema: axis,
  operands: (step) => one('axis', step.axis, haveAxis),
  yields: () => 'line',
  make: (_step, [feature]) => constructed(axisOf(feature as Feature)),
  inWords: (step) => `axis of ${step.axis}`,
};

const centerline = z
  .strictObject({ ...base, centerline: reference('a slot or an ellipse') })
  .describe('The line through the center of a slot or an ellipse along its longer way.');

export const centerlineForm: ConstructForm<z.infer<typeof centerline>> = {
  schema: centerline,
  operands: (step) => one('centerline', step.centerline, haveCenterline),
  yields: () => 'line',
  make: (_step, [feature]) => constructed(centerlineOf(feature as Feature)),
  inWords: (step) => `centerline of ${step.centerline}`,
};
