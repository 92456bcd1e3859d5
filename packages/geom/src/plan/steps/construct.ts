import { z } from 'zod';
import { type Constructed, constructed } from '../../construct/constructed.js';
import { together } from '../../construct/in-words.js';
import { intersect } from '../../construct/intersect.js';
import { midplane } from '../../construct/midplane.js';
import { offsetPlane } from '../../construct/offset.js';
import { project } from '../../construct/project.js';
import {
  axisOf,
  centerlineOf,
  centerOf,
  haveAxis,
  haveCenter,
  haveCenterline,
  havePlane,
  planeOf,
  type WithCenter,
} from '../../construct/roles.js';
import { lineThrough, midpoint, planeThrough } from '../../construct/through.js';
import type { Feature, FeatureKind } from '../../feature/feature.js';
import type { Context } from '../context.js';
import { common, frameReference, length, namedLimits, positiveLength, reference, vector } from '../fields.js';
import { judge } from '../judge.js';
import type { KindOf, Objection, OutcomeOf, Reference, StepKind } from '../kind.js';
import { objectToNames } from '../limit-names.js';
import { featureValues } from '../names.js';
import { readings } from '../readings.js';

const base = { step: z.literal('construct'), ...common, limits: namedLimits.optional() };
const feature = reference('a feature');

/** Making features from features. One schema a construction, keyed by the field that tells it. */
export const constructSchemas = {
  intersect: z
    .strictObject({
      ...base,
      intersect: z
        .array(feature)
        .min(2)
        .max(3)
        .describe(
          'Two planes: their line. Three planes: their point. A plane and a line or an axis, or two of those: their point.',
        ),
      within: positiveLength.optional().describe('Of two axes: how far apart they may pass, mm; default 1.'),
    })
    .describe('Where features meet.'),
  project: z
    .strictObject({
      ...base,
      project: reference('a point or anything with a center'),
      onto: reference('a plane, a line or an axis'),
    })
    .describe('The point of a plane, line or axis nearest to a point or center.'),
  midplane: z
    .strictObject({
      ...base,
      midplane: z.tuple([reference('a plane'), reference('a plane')]).describe('Two nearly parallel planes.'),
    })
    .describe('The plane midway between two planes.'),
  midpoint: z
    .strictObject({
      ...base,
      midpoint: z.tuple([feature, feature]).describe('Two points, or things with a center.'),
    })
    .describe('The point midway between two.'),
  through: z
    .strictObject({
      ...base,
      through: z.array(feature).min(2).max(3).describe('Two points or centers: a line. Three: a plane.'),
    })
    .describe('The line through two points, or the plane through three.'),
  offset: z
    .strictObject({
      ...base,
      offset: reference('a plane'),
      by: length.describe('mm along the normal.'),
    })
    .describe('A plane parallel to another.'),
  center: z
    .strictObject({ ...base, center: reference('a circle, a sphere or a cone (its apex)') })
    .describe('The center of a feature as a point.'),
  axis: z
    .strictObject({ ...base, axis: reference('a circle, a cylinder or a cone') })
    .describe('The axis of a feature as a line.'),
  centerline: z
    .strictObject({ ...base, centerline: reference('a slot or an ellipse') })
    .describe('The line through the center of a slot or an ellipse along its longer way.'),
  point: z
    .strictObject({ ...base, point: vector, in: frameReference.optional() })
    .describe('A point by its coordinates.'),
};

export type ConstructStep = z.infer<(typeof constructSchemas)[keyof typeof constructSchemas]>;

const each = (field: string, ids: readonly string[], accepts: Reference['accepts']): Reference[] =>
  ids.map((id, i) => ({ path: [field, i], id, accepts }));

/** What meets in what: planes and axes by their number. A circle enters by its axis. */
function meeting(ids: readonly string[], kindOf: KindOf): FeatureKind | 'nothing' | undefined {
  const kinds = ids.map(kindOf);
  if (kinds.includes(undefined)) return undefined;
  const planes = kinds.filter((k) => k === 'plane').length;
  if (kinds.length === 3) return planes === 3 ? 'point' : 'nothing';
  return planes === 2 ? 'line' : 'point';
}

function construct(step: ConstructStep, context: Context): Constructed<Feature> {
  const feature = (id: string) => context.feature(id);
  const centers = (ids: readonly string[]): readonly WithCenter[] => ids.map((id) => centerOf(feature(id)));
  if ('intersect' in step)
    return intersect(step.intersect.map(feature), step.within === undefined ? {} : { within: step.within });
  if ('project' in step) return project(feature(step.project), feature(step.onto));
  if ('midplane' in step) {
    const [first, second] = step.midplane.map((id) => planeOf(feature(id)));
    return midplane(first, second);
  }
  if ('midpoint' in step) {
    const [first, second] = centers(step.midpoint);
    return midpoint(first, second);
  }
  if ('through' in step) {
    const [first, second, third] = centers(step.through);
    return third === undefined ? lineThrough(first, second) : planeThrough(first, second, third);
  }
  if ('offset' in step) return offsetPlane(planeOf(feature(step.offset)), step.by);
  if ('center' in step) return constructed(centerOf(feature(step.center)));
  if ('axis' in step) return constructed(axisOf(feature(step.axis)));
  if ('centerline' in step) return constructed(centerlineOf(feature(step.centerline)));
  return constructed({ kind: 'point', position: context.frame(step.in).toScan(step.point) });
}

function inWords(step: ConstructStep, { kind }: Feature): string {
  if ('intersect' in step) return `${kind} where ${together(step.intersect)} meet`;
  if ('project' in step) return `${step.project} laid onto ${step.onto}`;
  if ('midplane' in step) return `plane midway between ${together(step.midplane)}`;
  if ('midpoint' in step) return `point midway between ${together(step.midpoint)}`;
  if ('through' in step) return `${kind} through ${together(step.through)}`;
  if ('offset' in step) return `plane ${step.by} mm along the normal of ${step.offset}`;
  if ('center' in step) return `center of ${step.center}`;
  if ('axis' in step) return `axis of ${step.axis}`;
  if ('centerline' in step) return `centerline of ${step.centerline}`;
  return `point as given in ${step.in ?? 'scan axes'}`;
}

export const constructStep: StepKind<ConstructStep, OutcomeOf<'construct'>> = {
  forms: constructSchemas,
  references(step) {
    if ('intersect' in step) return each('intersect', step.intersect, ['plane', ...haveAxis]);
    if ('project' in step)
      return [
        { path: ['project'], id: step.project, accepts: haveCenter },
        { path: ['onto'], id: step.onto, accepts: ['plane', 'line', 'cylinder', 'cone'] },
      ];
    if ('midplane' in step) return each('midplane', step.midplane, ['plane']);
    if ('midpoint' in step) return each('midpoint', step.midpoint, haveCenter);
    if ('through' in step) return each('through', step.through, haveCenter);
    if ('offset' in step) return [{ path: ['offset'], id: step.offset, accepts: havePlane }];
    if ('center' in step) return [{ path: ['center'], id: step.center, accepts: haveCenter }];
    if ('centerline' in step) return [{ path: ['centerline'], id: step.centerline, accepts: haveCenterline }];
    if ('axis' in step) return [{ path: ['axis'], id: step.axis, accepts: haveAxis }];
    return step.in === undefined ? [] : [{ path: ['in'], id: step.in, accepts: ['frame'] }];
  },
  yields(step, kindOf) {
    if ('intersect' in step) {
      const kind = meeting(step.intersect, kindOf);
      return kind === 'nothing' ? undefined : kind;
    }
    if ('midplane' in step || 'offset' in step) return 'plane';
    if ('axis' in step || 'centerline' in step) return 'line';
    if ('through' in step) return step.through.length === 2 ? 'line' : 'plane';
    return 'point';
  },
  object(step, kindOf) {
    const found: Objection[] = [];
    if ('intersect' in step && meeting(step.intersect, kindOf) === 'nothing')
      found.push({
        path: ['intersect'],
        expected: 'two planes, three planes, a plane and an axis, or two axes',
        found: step.intersect.map((id) => `${id} (${kindOf(id)})`).join(', '),
      });
    const kind = constructStep.yields(step, kindOf) as FeatureKind | undefined;
    if (kind !== undefined) found.push(...objectToNames(step.limits, featureValues[kind]));
    return found;
  },
  run(step, context) {
    const { feature, warnings } = construct(step, context);
    return { kind: 'construct', id: step.id, feature, warnings };
  },
  row(step, { feature, warnings }, frame) {
    const judged = judge(readings(feature, frame), step.limits);
    return { what: inWords(step, feature), values: judged.values, warnings: [...warnings, ...judged.warnings] };
  },
};
