import { z } from 'zod';
import { haveDirection, havePlane } from '../../construct/roles.js';
import { common, degrees, frameReference, namedLimits, positiveLength, reference, vector } from '../fields.js';
import type { Objection, Reference, StepCheck } from '../kind.js';
import { objectToNames } from '../limit-names.js';
import { featureValues, fitValues } from '../names.js';

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
          z.strictObject({ from: vector, to: vector }).describe('The section between its points nearest to these two.'),
          z.strictObject({ box }).describe('The part of the section inside a box.'),
        ])
        .optional()
        .describe('Of a section: the part to fit.'),
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
      trim: z
        .number()
        .min(0)
        .lt(0.5)
        .optional()
        .describe('Share of the points left out at the extremes, for the criteria that touch extreme points.'),
      known: z
        .strictObject({
          radius: positiveLength.optional().describe('Measured by hand, mm.'),
          diameter: positiveLength.optional().describe('Measured by hand, mm.'),
          direction: z
            .union([reference('a feature with a direction'), vector])
            .optional()
            .describe('Direction of the axis or normal: three numbers, or the id of an earlier feature that has it.'),
          halfAngle: degrees.positive().lt(90).optional().describe('Of a cone, degrees between axis and surface.'),
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
const directed: readonly Shape[] = ['plane', 'line', 'cylinder', 'cone'];
const inSection: readonly Shape[] = ['line', 'circle'];

export const fitCheck: StepCheck<FitStep> = {
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
    if (step.stretch !== undefined && to === 'region')
      found.push({ path: ['stretch'], expected: 'a section in to', found: step.to === 'all' ? 'all' : 'a region' });
    const placed = step.stretch !== undefined || Array.isArray(step.known?.direction);
    if (step.in !== undefined && !placed)
      found.push({ path: ['in'], expected: 'coordinates in this step: a stretch or a known direction', found: 'none' });
    found.push(...objectToNames(step.limits, [...featureValues[step.shape], ...fitValues(step.shape)]));
    return found;
  },
};
