import { z } from 'zod';
import type { Vec3 } from '../../math/vec3.js';
import { LONGEST_NOTE, LONGEST_TITLE } from './text-lengths.js';

/** The fields the steps share. Every description here ends up in the published JSON Schema, where editors show it. */

export const idPattern = /^[a-z0-9]+(-[a-z0-9]+)*$/;

/** Words with a meaning of their own where an id is expected. */
export const reservedIds: readonly string[] = ['all', 'scan'];

/** Words that stand in one field of a sheet. */
export const shortText = z.string().max(LONGEST_TITLE);
export const noteText = z.string().max(LONGEST_NOTE);

export const id = z
  .string()
  .max(LONGEST_TITLE)
  .regex(idPattern, { error: 'an id: small letters and digits, words joined by single hyphens (left-foot, hole-2)' })
  .meta({ id: 'id', description: 'Unique name of this step: small letters and digits, words joined by hyphens.' });

/** The id of an earlier step. */
export const reference = (what: string) =>
  z
    .string()
    .max(LONGEST_TITLE)
    .regex(idPattern, { error: `the id of ${what}` })
    .describe(`Id of an earlier step: ${what}.`);

const finite = z.number();

export const vector = z
  .tuple([finite, finite, finite])
  .readonly()
  .meta({ id: 'vector', description: 'Three numbers: x, y, z.' }) as unknown as z.ZodType<Vec3>;

export const length = finite.describe('mm.');
export const positiveLength = finite.positive().describe('mm, more than 0.');
export const degrees = finite.describe('Degrees.');

export const axis = z.enum(['x', 'y', 'z']);
export const signedAxis = z.enum(['x', 'y', 'z', '-x', '-y', '-z']);

export const frameReference = reference('a frame').describe(
  'Id of an earlier frame: coordinates in this step are in it. Absent: scan axes.',
);

export const limits = z
  .strictObject({
    min: finite.optional().describe('Smallest value allowed, mm or degrees.'),
    max: finite.optional().describe('Largest value allowed, mm or degrees.'),
  })
  .refine((l) => l.min !== undefined || l.max !== undefined, { error: 'min, max or both' })
  .refine((l) => l.min === undefined || l.max === undefined || l.min <= l.max, { error: 'min no larger than max' })
  .meta({ id: 'limits', description: 'What the value must hold. Outside it the plan fails.' });

/** For what touches extreme points. */
export const trim = z
  .number()
  .min(0)
  .lt(0.5)
  .describe('Share of the points left out at the extremes, so that single specks do not decide.');

/** Limits by the name of the value on the job sheet. */
export const namedLimits = z
  .record(z.string(), limits)
  .describe('Limits on values of this row of the job sheet, by name: {"diameter": {"min": 21.9, "max": 22.1}}.');

/** A number a person measured by other means: alone, or with how well it is known. */
export const byHand = (value: z.ZodNumber) =>
  z.union([
    value,
    z.strictObject({
      value,
      uncertainty: finite.positive().describe('± as written on the drawing (coverage factor 2), in the same unit.'),
      prior: z
        .boolean()
        .optional()
        .describe('Weigh it against the points, each by its uncertainty, instead of taking it as it stands.'),
    }),
  ]);
export type ByHand =
  | number
  | { readonly value: number; readonly uncertainty: number; readonly prior?: boolean | undefined };

/** A size a person measured: its number, or the step that has it. */
export const sizeByHand = z.union([
  ...byHand(positiveLength).options,
  reference('a size measured by hand'),
  z.strictObject({
    from: reference('a size measured by hand'),
    prior: z.boolean().optional().describe('Weigh it against the points, each by its uncertainty.'),
  }),
]);
export type SizeByHand = z.infer<typeof sizeByHand>;

/** What every step has. */
export const common = {
  id,
  note: noteText.optional().describe('Words for people; shown on the job sheet, not used otherwise.'),
  optional: z
    .boolean()
    .optional()
    .describe(
      'Where this step fails it is left out, with all that rests on it, and told so; the job does not fail by it. On a prepare step ' +
        'all that follows rests.',
    ),
};
