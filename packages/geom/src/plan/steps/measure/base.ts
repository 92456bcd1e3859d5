import { z } from 'zod';
import { common, limits, reference } from '../../step/fields.js';

/** What every measure has. */
export const base = { step: z.literal('measure'), ...common, limits: limits.optional() };

export const aFeature = reference('a feature');
export const aPlane = reference('a plane');
