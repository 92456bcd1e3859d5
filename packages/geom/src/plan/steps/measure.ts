import { z } from 'zod';
import { angleOf } from '../../construct/angle.js';
import { distanceOf } from '../../construct/distance.js';
import { together, withArticle } from '../../construct/in-words.js';
import { haveCenter, haveDirection } from '../../construct/roles.js';
import type { Warning } from '../../error.js';
import { dot, subtract, type Vec3 } from '../../math/vec3.js';
import type { Context } from '../context.js';
import { axis, common, frameReference, limits, reference, vector } from '../fields.js';
import { judge } from '../judge.js';
import type { OutcomeOf, Reference, StepKind } from '../kind.js';
import { featureKinds } from '../names.js';
import { degrees, placeOf, type Reading } from '../readings.js';

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

function inWords(step: MeasureStep): string {
  if ('angle' in step) return `angle between ${step.angle.join(' and ')}`;
  const [first, second] = step.distance;
  if (step.along === undefined) return `distance from ${first} to ${second}`;
  return `distance from ${first} to ${second} along ${step.along}${step.in === undefined ? ' of the scan' : ` of ${step.in}`}`;
}

interface Measured {
  readonly reading: Reading;
  readonly between?: readonly [Vec3, Vec3];
  readonly warnings: readonly Warning[];
}

function measured(step: MeasureStep, context: Context): Measured {
  const [first, second] = ('angle' in step ? step.angle : step.distance).map((id) => context.feature(id));
  if ('angle' in step) return { reading: degrees('angle', angleOf(first, second)), warnings: [] };
  const frame = context.frame(step.in);
  if (step.along !== undefined) {
    const from = placeOf(first);
    const to = placeOf(second);
    return {
      reading: { name: 'distance', value: dot(frame[step.along], subtract(to, from)), unit: 'mm' },
      between: [from, to],
      warnings: [],
    };
  }
  const { value, from, to, warnings } = distanceOf(first, second, step.at && { at: frame.toScan(step.at) });
  return { reading: { name: 'distance', value, unit: 'mm' }, between: [from, to], warnings };
}

export const measureStep: StepKind<MeasureStep, OutcomeOf<'measure'>> = {
  forms: measureSchemas,
  references(step) {
    if ('angle' in step) return step.angle.map((id, i) => ({ path: ['angle', i], id, accepts: haveDirection }));
    const accepts = step.along === undefined ? featureKinds : haveCenter;
    const found: Reference[] = step.distance.map((id, i) => ({ path: ['distance', i], id, accepts }));
    if (step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    return found;
  },
  yields: () => 'value',
  run(step, context) {
    const { reading, between, warnings } = measured(step, context);
    const judged = judge([reading], step.limits && { [reading.name]: step.limits });
    return {
      kind: 'measure',
      id: step.id,
      value: judged.values[0],
      ...(between && { between }),
      warnings: [...warnings, ...judged.warnings],
    };
  },
  row: (step, { value, warnings }) => ({ what: inWords(step), values: [value], warnings }),
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
