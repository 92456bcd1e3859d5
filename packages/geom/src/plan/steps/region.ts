import { z } from 'zod';
import { pointsOff } from '../../construct/off.js';
import { FettleError, type Warning } from '../../error.js';
import type { Frame } from '../../math/frame.js';
import { subtract, type Vec3 } from '../../math/vec3.js';
import { boxRegion } from '../../region/box.js';
import { brushRegion } from '../../region/brush.js';
import { regionIntersect, regionUnion, regionWithout } from '../../region/combine.js';
import { type Grown, type GrownRegion, grownRegion } from '../../region/growing/grown.js';
import { regionSize } from '../../region/growing/region-size.js';
import { indexRegion } from '../../region/index-region.js';
import { outlineRegion } from '../../region/outline.js';
import { sphereRegion } from '../../region/sphere.js';
import type { Scan } from '../../scan/scan.js';
import { countText } from '../../text/number-text.js';
import type { Context } from '../step/context.js';
import { common, degrees, frameReference, length, positiveLength, reference, vector } from '../step/fields.js';
import type { OutcomeOf, Reference, StepKind } from '../step/kind.js';
import { featureKinds } from '../step/names.js';

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
          smoothing: length
            .nonnegative()
            .optional()
            .describe(
              'Radius over which normals are averaged, mm. Absent: as wide as noise and digits about the seed demand.',
            ),
          gap: positiveLength
            .optional()
            .describe(
              'Of a cloud: the widest gap between points that is crossed, mm. Absent: 2.5 times the point spacing.',
            ),
        })
        .describe('Grow over the surface while it turns gently.'),
      in: frameReference.optional(),
    })
    .describe('Points reached by growing over the surface from seeds.'),
  brush: z
    .strictObject({
      ...narrowing,
      brush: z
        .strictObject({
          stroke: z.array(vector).min(1).describe('Where the brush went over the surface.'),
          radius: positiveLength.describe('Of the brush, mm.'),
          facing: vector.optional().describe('Toward the eye: only points whose surface faces it. Absent: all.'),
        })
        .describe('Points near the way of a brush.'),
      in: frameReference.optional(),
    })
    .describe('Points brushed over.'),
  outline: z
    .strictObject({
      ...narrowing,
      outline: z
        .strictObject({
          polygon: z
            .array(vector)
            .min(3)
            .describe('Its corners; how far they lie along the view does not matter. Crossing itself: even-odd rule.'),
          along: vector.describe('The way the eye looks.'),
          seen: z
            .boolean()
            .optional()
            .describe('Only points that face the eye and are not hidden by the scan. Absent: all the way through.'),
        })
        .describe('Points inside an outline as seen along a direction.'),
      in: frameReference.optional(),
    })
    .describe('Points inside an outline.'),
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

type Grow = z.infer<typeof regionSchemas.grow>['grow'];
type Brush = z.infer<typeof regionSchemas.brush>['brush'];
type Outline = z.infer<typeof regionSchemas.outline>['outline'];

export type RegionStep = z.infer<(typeof regionSchemas)[keyof typeof regionSchemas]>;

/** Kinds points can be told off: all but the ellipse, whose distance has no closed form. */
const offable = featureKinds.filter((kind) => kind !== 'ellipse');

/** The patches grown from each seed. */
function grownFrom({ from, turn, spread, smoothing, gap }: Grow, frame: Frame, scan: Scan): GrownRegion[] {
  const asRadians = Math.PI / 180;
  const options = {
    turnStep: turn * asRadians,
    turnTotal: spread * asRadians,
    ...(smoothing !== undefined && { smoothing }),
    ...(gap !== undefined && { maxGap: gap }),
  };
  return from.map((seed) => grownRegion(scan, { seed: frame.toScan(seed), ...options }));
}

/** A direction of a frame, in scan axes. */
const directionInScan = (frame: Frame, direction: Vec3): Vec3 => subtract(frame.toScan(direction), frame.origin);

const brushed = ({ stroke, radius, facing }: Brush, frame: Frame, scan: Scan): Uint32Array =>
  brushRegion(scan, {
    stroke: stroke.map((place) => frame.toScan(place)),
    radius,
    ...(facing && { facing: directionInScan(frame, facing) }),
  });

const outlined = ({ polygon, along, seen }: Outline, frame: Frame, scan: Scan): Uint32Array =>
  outlineRegion(scan, {
    polygon: polygon.map((corner) => frame.toScan(corner)),
    along: directionInScan(frame, along),
    ...(seen !== undefined && { seen }),
  });

/** The points a step's own field chooses, among those of `of`. */
function choose(step: RegionStep, context: Context, patches: readonly GrownRegion[]): Uint32Array {
  const { scan } = context;
  const of = step.of === undefined ? undefined : context.region(step.of);
  const choice = of === undefined ? scan : { ...scan, select: of };
  const among = (region: Uint32Array) => (of === undefined ? region : regionIntersect(region, of));
  if ('box' in step) return boxRegion(choice, step.box, context.frame(step.in).value);
  if ('sphere' in step) return sphereRegion(choice, step.sphere, context.frame(step.in).value);
  if ('brush' in step) return brushed(step.brush, context.frame(step.in).value, choice as Scan);
  if ('outline' in step) return outlined(step.outline, context.frame(step.in).value, choice as Scan);
  if ('off' in step) return pointsOff(choice, context.feature(step.off.feature).value, step.off);
  if ('indices' in step) return among(indexRegion(scan, step.indices));
  if ('join' in step) return among(regionUnion(...step.join.map((id) => context.region(id)!)));
  if ('grow' in step) return among(regionUnion(...patches.map(({ select }) => select)));
  return of ?? Uint32Array.from({ length: scan.positions.length / 3 }, (_, i) => i);
}

/** Its own, with its name, and those of the regions it is made of. */
function doubtsOf(step: RegionStep, grown: readonly Grown[], context: Context): Warning[] {
  const from = [...(step.of === undefined ? [] : [step.of]), ...('join' in step ? step.join : [])];
  const own = grown.flatMap(({ warnings }, i) =>
    warnings.map(({ code, message }) => {
      const seed = grown.length > 1 ? `, from seed ${i + 1}` : '';
      return { code, message: `Region ${step.id}${seed}: ${message}` };
    }),
  );
  return [...own, ...from.flatMap((id) => context.regionOutcome(id)?.doubts ?? [])];
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
    if ('off' in step) found.push({ path: ['off', 'feature'], id: step.off.feature, accepts: offable });
    if ('join' in step)
      for (const [i, id] of step.join.entries()) found.push({ path: ['join', i], id, accepts: ['region'] });
    return found;
  },
  yields: () => 'region',
  run(step, context) {
    const { scan } = context;
    const patches = 'grow' in step ? grownFrom(step.grow, context.frame(step.in).value, scan) : [];
    const chosen = choose(step, context, patches);
    const select =
      step.without === undefined ? chosen : regionWithout(chosen, ...step.without.map((id) => context.region(id)!));
    if (select.length === 0)
      throw new FettleError(
        'region-empty',
        `${scan.name}: the region holds no point: all of ${countText(chosen.length)} chosen are left out again.`,
      );
    const grown = patches.map(({ select: _, ...told }): Grown => told);
    const doubts = doubtsOf(step, grown, context);
    return {
      outcome: {
        kind: 'region',
        id: step.id,
        select,
        size: regionSize(scan, select),
        ...(grown.length > 0 && { grown }),
        ...(doubts.length > 0 && { doubts }),
      },
    };
  },
};
