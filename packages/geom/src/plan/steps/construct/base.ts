import { z } from 'zod';
import { common, namedLimits, reference } from '../../step/fields.js';

/** What every construction has. */
export const base = { step: z.literal('construct'), ...common, limits: namedLimits.optional() };

export const aFeature = reference('a feature');
export const aPlane = reference('a plane');
