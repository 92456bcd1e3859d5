import { z } from 'zod';
import { footOnPlane } from '../../construct/project.js';
import { derive, rootOf, type Uncertain } from '../../construct/propagate.js';
import { directionOf, haveDirection, havePlane, planeOf } from '../../construct/roles.js';
import type { Warning } from '../../error.js';
import type { Feature, Plane } from '../../feature/feature.js';
import { fitCircle } from '../../fit/circle.js';
import { fitCone } from '../../fit/cone.js';
import { fitCylinder } from '../../fit/cylinder.js';
import { expandedInWords } from '../../fit/expanded.js';
import type { Fit, Known, KnownDirection, KnownHalfAngle, KnownRadius } from '../../fit/fit.js';
import { fitLine } from '../../fit/line.js';
import { fitPlane } from '../../fit/plane.js';
import { fitSphere } from '../../fit/sphere.js';
import { addScaled, dot, negate, normalize, subtract, type Vec3 } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type Stretch, stretchPoints } from '../../section/stretch.js';
import type { Context } from '../context.js';
import {
  type ByHand,
  byHand,
  common,
  degrees,
  frameReference,
  namedLimits,
  positiveLength,
  reference,
  trim,
  vector,
} from '../fields.js';
import { judge } from '../judge.js';
import type { Objection, OutcomeOf, Reference, StepKind } from '../kind.js';
import { objectToNames } from '../limit-names.js';
import { featureValues, fitValues, formName } from '../names.js';
import { type Reading, readings } from '../readings.js';

export const shapes = ['plane', 'line', 'circle', 'sphere', 'cylinder', 'cone'] as const;

const box = z
  .strictObject({ min: vector, max: vector })
  .refine(({ min, max }) => min.every((m, i) => m <= max[i]!), { error: 'min no larger than max in x, y and z' });

export const fitSchemas = {
  to: z
    .strictObject({
      step: z.literal('fit'),
      ...common,
      shape: z.enum(shapes).describe('What to fit.'),
      to: reference('a region or a section, or the word all').describe(
        'Id of an earlier region or section; "all" for the entire scan.',
      ),
      stretch: z
        .union([
          z
            .strictObject({
              from: vector,
              to: vector,
              long: z.boolean().optional().describe('Around a closed outline: the longer way instead of the shorter.'),
            })
            .describe('The section between its points nearest to these two.'),
          z.strictObject({ box }).describe('The parts of the section inside a box.'),
          z
            .strictObject({ sphere: z.strictObject({ center: vector, radius: positiveLength }) })
            .describe('The parts of the section inside a sphere.'),
        ])
        .optional()
        .describe('Of a section: the part to fit. Absent: all of it.'),
      every: positiveLength
        .optional()
        .describe(
          'Of a section: places so many mm apart along it, instead of where it crosses the edges of triangles.',
        ),
      in: frameReference.optional(),
      criterion: z
        .enum(['least-squares', 'minimum-zone', 'maximum-inscribed', 'minimum-circumscribed'])
        .optional()
        .describe('Default least-squares.'),
      reject: z.number().positive().optional().describe('Leave out points farther off than this many sigmas.'),
      robust: z
        .boolean()
        .optional()
        .describe('Start by sample consensus: for regions that hold some of another surface.'),
      trim: trim.optional(),
      known: z
        .strictObject({
          radius: byHand(positiveLength).optional().describe('Measured by hand, mm.'),
          diameter: byHand(positiveLength).optional().describe('Measured by hand, mm.'),
          direction: z
            .union([reference('a feature with a direction'), vector])
            .optional()
            .describe('Direction of the axis or normal: three numbers, or the id of an earlier feature that has it.'),
          halfAngle: byHand(degrees.positive().lt(90))
            .optional()
            .describe('Of a cone, degrees between axis and surface.'),
        })
        .refine((k) => Object.keys(k).length > 0, { error: 'radius, diameter, direction or halfAngle' })
        .refine((k) => k.radius === undefined || k.diameter === undefined, { error: 'radius or diameter, not both' })
        .optional()
        .describe('Taken as given: a caliper gives the size, a datum the direction, the scan the place.'),
      plane: reference('a plane').optional().describe('Of a circle: fit it in this earlier plane.'),
      limits: namedLimits.optional(),
    })
    .describe('Fit a shape to points.'),
};

export type FitStep = z.infer<(typeof fitSchemas)[keyof typeof fitSchemas]>;

type Shape = FitStep['shape'];

/** Which shapes each choice is for. */
const zoned: readonly Shape[] = ['plane', 'line', 'circle', 'sphere', 'cylinder'];
const oneSided: readonly Shape[] = ['circle', 'cylinder'];
const round: readonly Shape[] = ['circle', 'sphere', 'cylinder'];
const directed: readonly Shape[] = ['plane', 'line', 'circle', 'cylinder', 'cone'];
const inSection: readonly Shape[] = ['line', 'circle'];

const asRadians = (degrees: number): number => (degrees * Math.PI) / 180;

/** A hand-measured number in the fit's unit: `scale` of its own. */
const given = (byHand: ByHand, scale: number): Known<number> =>
  typeof byHand === 'number'
    ? byHand * scale
    : { value: byHand.value * scale, uncertainty: byHand.uncertainty * scale, prior: byHand.prior ?? false };

function knownOf({ known, in: frameId }: FitStep, context: Context): KnownRadius & KnownDirection & KnownHalfAngle {
  if (known === undefined) return {};
  const { radius, diameter, direction, halfAngle } = known;
  const frame = context.frame(frameId).value;
  return {
    ...(radius !== undefined && { radius: given(radius, 1) }),
    ...(diameter !== undefined && { radius: given(diameter, 0.5) }),
    ...(halfAngle !== undefined && { halfAngle: given(halfAngle, asRadians(1)) }),
    ...(direction !== undefined && {
      direction:
        typeof direction === 'string'
          ? directionOf(context.feature(direction).value)
          : subtract(frame.toScan(direction), frame.origin),
    }),
  };
}

function optionsOf(step: FitStep, context: Context) {
  const { criterion, reject, robust, trim } = step;
  return {
    ...(criterion !== undefined && { criterion }),
    ...(reject !== undefined && { reject }),
    ...(robust !== undefined && { robust }),
    ...(trim !== undefined && { trim }),
    ...(step.known !== undefined && { known: knownOf(step, context) }),
    ...(step.plane !== undefined && { plane: planeOf(context.feature(step.plane).value) }),
    ...(context.scanner && { scanner: context.scanner }),
  };
}

const criteria = {
  'least-squares': 'least squares',
  'minimum-zone': 'minimum zone',
  'maximum-inscribed': 'maximum inscribed',
  'minimum-circumscribed': 'minimum circumscribed',
} as const;

function inWords({ shape, to, plane, criterion = 'least-squares', trim, known = {} }: FitStep): string {
  const parts = [
    `${shape}${plane === undefined ? '' : ` in ${plane}`} to ${to === 'all' ? 'the entire scan' : to}`,
    criteria[criterion],
  ];
  if (trim !== undefined) parts.push(`${Number((100 * trim).toPrecision(3))} % trimmed`);
  const say = (name: string, value: ByHand | undefined, unit: string) => {
    if (value === undefined) return;
    if (typeof value === 'number') parts.push(`${name} ${value}${unit} given`);
    else parts.push(`${name} ${value.value} ± ${value.uncertainty}${unit} ${value.prior ? 'weighed in' : 'given'}`);
  };
  say('radius', known.radius, ' mm');
  say('diameter', known.diameter, ' mm');
  say('half-angle', known.halfAngle, '°');
  if (known.direction !== undefined)
    parts.push(`direction ${typeof known.direction === 'string' ? `of ${known.direction}` : 'given'}`);
  return parts.join(', ');
}

/** Peak to valley and rms as values of their own: where the criterion is about form, or the plan limits them. */
function formReadings(step: FitStep, { rms, form }: Fit<Feature>): Reading[] {
  const asked = (name: string) => step.limits?.[name] !== undefined;
  const name = formName[step.shape];
  const found: Reading[] = [];
  if (asked('rms')) found.push({ name: 'rms', value: rms, unit: 'mm' });
  if (asked('form')) found.push({ name: 'form', value: form, unit: 'mm' });
  if (name !== 'form' && (asked(name) || step.criterion === 'minimum-zone'))
    found.push({ name, value: form, unit: 'mm' });
  return found;
}

const fits = {
  plane: fitPlane,
  line: fitLine,
  circle: fitCircle,
  sphere: fitSphere,
  cylinder: fitCylinder,
  cone: fitCone,
} as const satisfies Record<Shape, unknown>;

interface Fitted {
  readonly fit: Fit<Feature>;
  readonly points: Points;
  readonly warnings: readonly Warning[];
}

function fitTo(step: FitStep, context: Context): Fitted {
  const { scan } = context;
  const cut = context.section(step.to);
  const fitShape = fits[step.shape] as (points: Points, options: object) => Fit<Feature>;
  if (cut !== undefined) {
    const { points: positions, warnings } = stretchPoints(cut.section, stretchOf(step, context), step.every);
    const plane = step.shape === 'circle' ? { plane: cut.section.plane } : {};
    const fit = fitShape({ positions }, { ...plane, ...optionsOf(step, context) });
    return { fit, points: { positions, select: fit.used }, warnings };
  }
  const select = context.region(step.to);
  const fit = fitShape(select ? { ...scan, select } : scan, optionsOf(step, context));
  return { fit, points: { ...scan, select: fit.used }, warnings: [] };
}

function stretchOf({ stretch, in: frameId }: FitStep, context: Context): Stretch {
  const frame = context.frame(frameId).value;
  if (stretch === undefined) return { box: everywhere };
  if ('box' in stretch) return { box: stretch.box, frame };
  if ('sphere' in stretch) return { within: stretch.sphere, frame };
  return { from: frame.toScan(stretch.from), to: frame.toScan(stretch.to), long: stretch.long ?? false };
}

const far = Number.MAX_VALUE;
const everywhere = { min: [-far, -far, -far], max: [far, far, far] } as const;

/**
 * A fit that was made in an earlier plane, or along an earlier direction, follows that when it moves: so that what is made of
 * both does not count it twice.
 */
function tied(step: FitStep, fit: Uncertain<Feature>, context: Context): Uncertain<Feature> {
  const plane = step.plane === undefined ? context.section(step.to)?.plane : context.feature(step.plane);
  if (plane !== undefined) return derive([fit, plane], (f, p) => laidInto(f, planeOf(p)));
  const direction = step.known?.direction;
  if (typeof direction !== 'string') return fit;
  return derive([fit, context.feature(direction)], (f, other) => turnedAlong(f, directionOf(other)));
}

/** A flat outline or a line in a plane. */
function laidInto(feature: Feature, plane: Plane): Feature {
  if (feature.kind === 'circle' || feature.kind === 'slot' || feature.kind === 'ellipse') {
    const normal = agreeing(plane.normal, feature.normal);
    return { ...feature, center: footOnPlane(feature.center, plane), normal };
  }
  if (feature.kind !== 'line') return feature;
  const direction = normalize(addScaled(feature.direction, plane.normal, -dot(feature.direction, plane.normal)));
  return { ...feature, point: footOnPlane(feature.point, plane), direction };
}

function turnedAlong(feature: Feature, direction: Vec3): Feature {
  if (feature.kind === 'plane' || feature.kind === 'circle')
    return { ...feature, normal: agreeing(direction, feature.normal) };
  if (feature.kind === 'line' || feature.kind === 'cylinder')
    return { ...feature, direction: agreeing(direction, feature.direction) };
  return feature;
}

const agreeing = (direction: Vec3, own: Vec3): Vec3 => (dot(direction, own) < 0 ? negate(direction) : direction);

export const fitStep: StepKind<FitStep, OutcomeOf<'fit'>> = {
  forms: fitSchemas,
  references(step) {
    const found: Reference[] = [{ path: ['to'], id: step.to, accepts: ['region', 'section'], all: true }];
    if (step.plane !== undefined) found.push({ path: ['plane'], id: step.plane, accepts: havePlane });
    if (typeof step.known?.direction === 'string')
      found.push({ path: ['known', 'direction'], id: step.known.direction, accepts: haveDirection });
    if (step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    return found;
  },
  yields: (step) => step.shape,
  object(step, kindOf) {
    const found: Objection[] = [];
    const only = (shapes: readonly Shape[], present: boolean, ...path: string[]) => {
      if (present && !shapes.includes(step.shape))
        found.push({ path, expected: `only with ${shapes.join(', ')}`, found: `shape ${step.shape}` });
    };
    only(zoned, step.criterion === 'minimum-zone', 'criterion');
    only(oneSided, step.criterion === 'maximum-inscribed' || step.criterion === 'minimum-circumscribed', 'criterion');
    only(round, step.known?.radius !== undefined, 'known', 'radius');
    only(round, step.known?.diameter !== undefined, 'known', 'diameter');
    only(directed, step.known?.direction !== undefined, 'known', 'direction');
    only(['cone'], step.known?.halfAngle !== undefined, 'known', 'halfAngle');
    only(['circle'], step.plane !== undefined, 'plane');
    if (step.trim !== undefined && (step.criterion ?? 'least-squares') === 'least-squares')
      found.push({ path: ['trim'], expected: 'a criterion that touches extreme points', found: 'least-squares' });
    const to = step.to === 'all' ? 'region' : kindOf(step.to);
    only(inSection, to === 'section', 'to');
    for (const field of ['stretch', 'every'] as const)
      if (step[field] !== undefined && to === 'region')
        found.push({ path: [field], expected: 'a section in to', found: step.to === 'all' ? 'all' : 'a region' });
    const placed = step.stretch !== undefined || Array.isArray(step.known?.direction);
    if (step.in !== undefined && !placed)
      found.push({ path: ['in'], expected: 'coordinates in this step: a stretch or a known direction', found: 'none' });
    found.push(...objectToNames(step.limits, [...featureValues[step.shape], ...fitValues(step.shape)]));
    return found;
  },
  run(step, context) {
    const { fit, points, warnings } = fitTo(step, context);
    const feature = tied(step, rootOf(step.id, fit), context);
    return {
      outcome: { kind: 'fit', id: step.id, fit },
      uncertain: feature,
      points,
      row(frame) {
        const judged = judge([...readings(feature, frame), ...formReadings(step, fit)], step.limits);
        return {
          what: inWords(step),
          values: judged.values,
          uncertainty: expandedInWords(fit.uncertainty),
          rms: fit.rms,
          form: fit.form,
          used: fit.count,
          rejected: fit.rejected.length,
          warnings: [...warnings, ...fit.warnings, ...(fit.uncertainty.warnings ?? []), ...judged.warnings],
        };
      },
    };
  },
};
