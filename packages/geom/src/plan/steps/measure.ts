import { z } from 'zod';
import { together, withArticle } from '../../construct/in-words.js';
import { haveCenter, haveDirection } from '../../construct/roles.js';
import { axis, common, frameReference, limits, reference, vector } from '../fields.js';
import type { Reference, StepCheck } from '../kind.js';
import { featureKinds } from '../names.js';

const base = { step: z.literal('measure'), ...common, limits: limits.optional() };
const feature = reference('a feature');

/** Distances and angles between features. */
export const measureSchemas = {
  distance: z
    .strictObject({
      ...base,
      distance: z
        .tuple([feature, feature])
        .describe('Two features. To a plane it is signed: positive on the side its normal points to.'),
      along: axis
        .optional()
        .describe('Only the part along this axis, second minus first; both need a point or a center.'),
      at: vector.optional().describe('Between two planes: the point at which to measure.'),
      in: frameReference.optional().describe('Id of an earlier frame for along and at. Absent: scan axes.'),
    })
    .describe('The distance between two features, mm.'),
  angle: z
    .strictObject({ ...base, angle: z.tuple([feature, feature]).describe('Two features with a direction.') })
    .describe('The angle between two features, degrees.'),
};

export type MeasureStep = z.infer<(typeof measureSchemas)[keyof typeof measureSchemas]>;

export const measureCheck: StepCheck<MeasureStep> = {
  forms: measureSchemas,
  references(step) {
    if ('angle' in step) return step.angle.map((id, i) => ({ path: ['angle', i], id, accepts: haveDirection }));
    const accepts = step.along === undefined ? featureKinds : haveCenter;
    const found: Reference[] = step.distance.map((id, i) => ({ path: ['distance', i], id, accepts }));
    if (step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    return found;
  },
  yields: () => 'value',
  object(step, kindOf) {
    if (!('distance' in step) || step.at === undefined) return [];
    const kinds = step.distance.map(kindOf);
    if (kinds.every((k) => k === undefined || k === 'plane')) return [];
    return [
      {
        path: ['at'],
        expected: 'no point unless both features are planes',
        found: together(kinds.map((kind) => withArticle(kind ?? 'thing'))),
      },
    ];
  },
};
