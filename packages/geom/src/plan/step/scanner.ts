import { z } from 'zod';
import { noteText } from './fields.js';

/** What a plan may say of the scanner. */
export const scannerSchema = z
  .strictObject({
    accuracy: z.number().nonnegative().describe('Of the scanner at its best, as its maker states it: ± mm.'),
    perMeter: z
      .number()
      .nonnegative()
      .optional()
      .describe('What a meter of distance adds: ± mm. One scale of the whole scan, the same for all its lengths.'),
    perMetre: z
      .number()
      .nonnegative()
      .optional()
      .describe('The earlier name of perMeter: still read, with a warning. Write perMeter.'),
    noise: z
      .strictObject({
        white: z.number().nonnegative().describe('What each point has to itself, standard deviation, mm.'),
        shared: z
          .array(
            z.strictObject({
              length: z.number().positive().describe('Over which neighbors err together, mm.'),
              deviation: z.number().positive().describe('Standard deviation, mm.'),
              kernel: z
                .enum(['gaussian', 'matern-3/2', 'exponential'])
                .optional()
                .describe('How it falls off with distance: smooth, between, rough. Default gaussian.'),
            }),
          )
          .optional()
          .describe('What neighbors share; more than one length adds up.'),
      })
      .optional()
      .describe(
        "The scan's noise across a surface, for scans with no large surface to measure it on. Default: measured on the scan.",
      ),
    note: noteText.min(1).optional().describe('Where these figures come from; stands on the job sheet.'),
  })
  .refine((s) => s.perMeter === undefined || s.perMetre === undefined, {
    path: ['perMetre'],
    error: 'perMeter alone, its present name',
  })
  .describe('What is known of the scanner. No uncertainty on the job sheet is smaller than this allows.');
/** The scanner as a plan states it. */
export type StatedScanner = z.infer<typeof scannerSchema>;
/** The same with its fields' present names. */
export type Scanner = Omit<StatedScanner, 'perMetre'>;

/** What a plan states of the scanner, `perMetre` of earlier plans read as `perMeter`. */
export function scannerOf({ scanner: stated }: { readonly scanner?: StatedScanner }): Scanner | undefined {
  if (stated?.perMetre === undefined) return stated;
  const { perMetre, ...rest } = stated;
  return { ...rest, perMeter: perMetre };
}
