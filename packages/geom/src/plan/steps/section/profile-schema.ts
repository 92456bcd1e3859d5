import { z } from 'zod';
import { frameReference, namedLimits, positiveLength, vector } from '../../step/fields.js';

const kinds = ['parallel', 'square', 'equal-radius', 'concentric', 'horizontal', 'vertical'] as const;

const heldBetween = z
  .strictObject({
    make: z.enum(kinds).describe('What the pieces are to be to each other, or to the frame.'),
    at: z.array(vector).min(1).max(2).describe('A place on each piece: the piece nearest to it is meant.'),
  })
  .refine(({ make, at }) => (make === 'horizontal' || make === 'vertical' ? at.length === 1 : at.length === 2), {
    error: 'one place for horizontal and vertical, two for the others',
  });

/** What a section step may say of the profile it asks for. */
export const profileSchema = z
  .strictObject({
    near: vector
      .optional()
      .describe('Which outline of the section: the one nearest to this place. Absent: the longest.'),
    tolerance: positiveLength
      .optional()
      .describe(
        'Departures up to this are no reason for another piece, mm. Absent: 0.02, and what the noise and waves of the surface make.',
      ),
    shortest: positiveLength
      .optional()
      .describe('Shortest line or arc looked for, mm. Absent: nine times the spacing of the points.'),
    pieces: z
      .array(
        z.strictObject({
          from: vector,
          to: vector,
          long: z.boolean().optional().describe('Around a closed outline: the longer way instead of the shorter.'),
          as: z.enum(['line', 'arc']).describe('What the outline is between its points nearest to these two.'),
        }),
      )
      .optional()
      .describe('Pieces picked by hand; the rest of the outline is divided around them.'),
    hold: z
      .array(z.union([z.enum(kinds), heldBetween]))
      .optional()
      .describe('What is to hold exactly: a word for all the points do not speak against, or for pieces at places.'),
    in: frameReference.optional(),
    limits: namedLimits.optional(),
  })
  .describe('The outline as a chain of lines and arcs, with radii, widths, depths and angles on the job sheet.');

export type ProfileRequest = z.infer<typeof profileSchema>;
