import { z } from 'zod';
import { noteText, shortText } from './fields.js';
import { type ByHandStep, byHandSchemas } from './steps/by-hand.js';
import { type ConstructStep, constructSchemas } from './steps/construct.js';
import {
  type DeliverCadStep,
  type DeliverDrawingStep,
  type DeliverPictureStep,
  type DeliverReportStep,
  type DeliverScanStep,
  type DeliverStep,
  deliverSchemas,
} from './steps/deliver.js';
import { type FitStep, fitSchemas } from './steps/fit.js';
import { type FrameStep, frameSchemas } from './steps/frame.js';
import { type MeasureStep, measureSchemas } from './steps/measure.js';
import { type PrepareStep, prepareSchemas } from './steps/prepare.js';
import { type RegionStep, regionSchemas } from './steps/region.js';
import { type SectionStep, sectionSchemas } from './steps/section.js';

export type {
  ByHandStep,
  ConstructStep,
  DeliverCadStep,
  DeliverDrawingStep,
  DeliverPictureStep,
  DeliverReportStep,
  DeliverScanStep,
  DeliverStep,
  FitStep,
  FrameStep,
  MeasureStep,
  PrepareStep,
  RegionStep,
  SectionStep,
};

export type Step =
  | PrepareStep
  | RegionStep
  | FitStep
  | ConstructStep
  | FrameStep
  | SectionStep
  | MeasureStep
  | ByHandStep
  | DeliverStep;
export type StepName = Step['step'];

/** Every step kind, and each of its forms by the field that tells it. */
export const stepSchemas = {
  prepare: prepareSchemas,
  region: regionSchemas,
  fit: fitSchemas,
  construct: constructSchemas,
  frame: frameSchemas,
  section: sectionSchemas,
  measure: measureSchemas,
  'by-hand': byHandSchemas,
  deliver: deliverSchemas,
} satisfies Readonly<Record<StepName, Readonly<Record<string, z.ZodType>>>>;

const scanner = z
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
export type StatedScanner = z.infer<typeof scanner>;
/** The same with its fields' present names. */
export type Scanner = Omit<StatedScanner, 'perMetre'>;

/** What a plan states of the scanner, `perMetre` of earlier plans read as `perMeter`. */
export function scannerOf({ scanner: stated }: Pick<Plan, 'scanner'>): Scanner | undefined {
  if (stated?.perMetre === undefined) return stated;
  const { perMetre, ...rest } = stated;
  return { ...rest, perMeter: perMetre };
}

/** All of a plan but its steps: those are checked one by one, each by the form it has. */
export const planHead = {
  $schema: z.string().optional().describe('Where the JSON Schema of plans is, for editors.'),
  version: z.literal(1).describe('Version of the plan format.'),
  title: shortText.min(1).describe('What is measured; heads the job sheet.'),
  scanner: scanner.optional(),
};

/** A measuring plan: ordered steps, each with an id; a step refers to earlier ones only. Lengths in mm, angles in degrees. */
export interface Plan {
  readonly $schema?: string;
  readonly version: 1;
  readonly title: string;
  readonly scanner?: StatedScanner;
  readonly steps: readonly Step[];
}

const anyStep = z.union(Object.values(stepSchemas).flatMap((forms): z.ZodType[] => Object.values(forms)));
const planSchema = z
  .strictObject({ ...planHead, steps: z.array(anyStep).min(1).describe('In order; each may use the ids before it.') })
  .describe('A measuring plan. Lengths in mm, angles in degrees.');

/** The JSON Schema (2020-12) of plans, made from what {@link checkPlan} checks with; references are beyond it. */
export function planJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(planSchema, { target: 'draft-2020-12' }) as Record<string, unknown>;
}
