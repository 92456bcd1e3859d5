import { z } from 'zod';
import { pointsOff } from '../../construct/off.js';
import { FettleError } from '../../error.js';
import type { Frame } from '../../frame/frame.js';
import { countText } from '../../scan/number-text.js';
import type { Bounds, Scan } from '../../scan/scan.js';
import type { Context } from '../context.js';
import { common, degrees, frameReference, length, positiveLength, reference, vector } from '../fields.js';
import type { OutcomeOf, Reference, StepKind } from '../kind.js';
import { featureKinds } from '../names.js';
import { joined, within, without } from '../selection.js';

const narrowing = {
  step: z.literal('region'),
  ...common,
  of: reference('a region').optional().describe('Id of an earlier region: choose among its points only.'),
  without: z.array(reference('a region')).min(1).optional().describe('Ids of earlier regions: leave their points out.'),
};

/** Choosing points. One schema a way to choose, keyed by the field that tells it. */
export const regionSchemas = {
  box: z
    .strictObject({
      ...narrowing,
      box: z
        .strictObject({ min: vector, max: vector })
        .refine(({ min, max }) => min.every((m, i) => m <= max[i]!), { error: 'min no larger than max in x, y and z' })
        .describe('Points inside a box along the axes.'),
      in: frameReference.optional(),
    })
    .describe('Points inside a box.'),
  sphere: z
    .strictObject({
      ...narrowing,
      sphere: z.strictObject({ center: vector, radius: positiveLength }).describe('Points inside a sphere.'),
      in: frameReference.optional(),
    })
    .describe('Points inside a sphere.'),
  grow: z
    .strictObject({
      ...narrowing,
      grow: z
        .strictObject({
          from: z
            .array(vector)
            .min(1)
            .describe('Seeds: the scan point nearest to each starts a patch; the patches are joined.'),
          turn: degrees.positive().max(180).describe('Degrees the surface may turn from one point to its neighbor.'),
          spread: degrees.positive().max(180).describe('Degrees the surface may turn from the seed overall.'),
        })
        .describe('Grow over the surface while it turns gently.'),
      in: frameReference.optional(),
    })
    .describe('Points reached by growing over the surface from seeds.'),
  off: z
    .strictObject({
      ...narrowing,
      off: z
        .strictObject({
          feature: reference('a feature'),
          min: length.optional(),
          max: length.optional(),
        })
        .refine((o) => o.min !== undefined || o.max !== undefined, { error: 'min, max or both' })
        .refine((o) => o.min === undefined || o.max === undefined || o.min <= o.max, {
          error: 'min no larger than max',
        })
        .describe(
          'Points by their distance off a feature, mm: signed on planes (along the normal) and round surfaces (outside is positive).',
        ),
    })
    .describe('Points between two distances off a feature.'),
  indices: z
    .strictObject({
      ...narrowing,
      indices: z.array(z.int().nonnegative()).min(1).describe('Numbers of the points in the scan, from 0.'),
    })
    .describe('Points by their numbers.'),
  join: z
    .strictObject({
      ...narrowing,
      join: z.array(reference('a region')).min(1).describe('Ids of earlier regions: the points in any of them.'),
    })
    .describe('The points of several regions together.'),
  of: z
    .strictObject({ ...narrowing, of: reference('a region, or the word all') })
    .describe('An earlier region, less others.'),
};

export type RegionStep = z.infer<(typeof regionSchemas)[keyof typeof regionSchemas]>;

/** The points a step chooses before any are left out; undefined for all. */
function chosen(step: RegionStep, context: Context): Uint32Array | undefined {
  const { scan } = context;
  const count = scan.positions.length / 3;
  if ('off' in step) {
    const select = step.of === undefined ? undefined : context.region(step.of);
    return pointsOff(select ? { ...scan, select } : scan, context.feature(step.off.feature), step.off);
  }
  if ('join' in step)
    return joined(
      count,
      step.join.flatMap((id) => context.region(id) ?? []),
    );
  if ('indices' in step) return Uint32Array.from(new Set(step.indices)).sort();
  if ('box' in step) return inside(scan, context.frame(step.in), step.box);
  if ('sphere' in step) {
    const center = context.frame(step.in).toScan(step.sphere.center);
    return pointsOff(scan, { kind: 'point', position: center }, { max: step.sphere.radius });
  }
  if ('grow' in step) throw new TypeError('growing is on its way');
  return undefined;
}

/** The points inside a box along the axes of a frame. */
function inside({ positions }: Scan, { matrix: m }: Frame, { min, max }: Bounds): Uint32Array {
  const found = new Uint32Array(positions.length / 3);
  let n = 0;
  for (let p = 0; p < positions.length; p += 3) {
    const x = positions[p];
    const y = positions[p + 1];
    const z = positions[p + 2];
    const a = m[0] * x + m[4] * y + m[8] * z + m[12];
    const b = m[1] * x + m[5] * y + m[9] * z + m[13];
    const c = m[2] * x + m[6] * y + m[10] * z + m[14];
    if (a >= min[0] && a <= max[0] && b >= min[1] && b <= max[1] && c >= min[2] && c <= max[2]) found[n++] = p / 3;
  }
  return found.slice(0, n);
}

export const regionStep: StepKind<RegionStep, OutcomeOf<'region'>> = {
  forms: regionSchemas,
  fallback: 'of',
  references(step) {
    const found: Reference[] = [];
    if (step.of !== undefined) found.push({ path: ['of'], id: step.of, accepts: ['region'], all: true });
    step.without?.forEach((id, i) => {
      found.push({ path: ['without', i], id, accepts: ['region'] });
    });
    if ('in' in step && step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    if ('off' in step) found.push({ path: ['off', 'feature'], id: step.off.feature, accepts: featureKinds });
    if ('join' in step)
      for (const [i, id] of step.join.entries()) found.push({ path: ['join', i], id, accepts: ['region'] });
    return found;
  },
  yields: () => 'region',
  run(step, context) {
    const { scan } = context;
    const count = scan.positions.length / 3;
    const all = () => Uint32Array.from({ length: count }, (_, i) => i);
    let select = chosen(step, context);
    const of = step.of === undefined ? undefined : context.region(step.of);
    if (of !== undefined) select = select === undefined ? of : within(count, select, of);
    select ??= all();
    if (step.without !== undefined)
      select = without(
        count,
        select,
        step.without.map((id) => context.region(id) ?? all()),
      );
    if (select.length === 0)
      throw new FettleError('region-empty', `${scan.name}: none of the ${countText(count)} points is in this region.`);
    return { kind: 'region', id: step.id, select };
  },
};
