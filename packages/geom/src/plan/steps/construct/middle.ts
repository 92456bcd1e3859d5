import { z } from 'zod';
import { midplane } from '../../../construct/midplane.js';
import { midpoint } from '../../../construct/through.js';
import type { Feature } from '../../../feature/feature.js';
import { centerOf, haveCenter, planeOf } from '../../../feature/roles.js';
import { together } from '../../../text/in-words.js';
import { type ConstructForm, each } from '../../step/form.js';
import { aFeature, aPlane, base } from './base.js';

const planes = z
  .strictObject({ ...base, midplane: z.tuple([aPlane, aPlane]).describe('Two nearly parallel planes.') })
  .describe('The plane midway between two planes.');

export const midplaneForm: ConstructForm<z.infer<typeof planes>> = {
  schema: planes,
  operands: (step) => each('midplane', step.midplane, ['plane']),
  yields: () => 'plane',
  make: (_step, [first, second]) => midplane(planeOf(first as Feature), planeOf(second as Feature)),
  inWords: (step) => `plane midway between ${together(step.midplane)}`,
};

const points = z
  .strictObject({ ...base, midpoint: z.tuple([aFeature, aFeature]).describe('Two points, or things with a center.') })
  .describe('The point midway between two.');

export const midpointForm: ConstructForm<z.infer<typeof points>> = {
  schema: points,
  operands: (step) => each('midpoint', step.midpoint, haveCenter),
  yields: () => 'point',
  make: (_step, [first, second]) => midpoint(centerOf(first as Feature), centerOf(second as Feature)),
  inWords: (step) => `point midway between ${together(step.midpoint)}`,
};
