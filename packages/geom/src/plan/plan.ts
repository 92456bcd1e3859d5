import { z } from 'zod';
import type { KeptReference } from '../align/kept-reference.js';
import {
  type DeliverCadStep,
  type DeliverDrawingStep,
  type DeliverPictureStep,
  type DeliverReportStep,
  type DeliverScanStep,
  type DeliverStep,
  deliverSchemas,
} from './step/deliver-schema.js';
import { shortText } from './step/fields.js';
import { type StatedScanner, scannerSchema } from './step/scanner.js';
import { type ByHandStep, byHandSchemas } from './steps/by-hand.js';
import { type ConstructStep, constructSchemas } from './steps/construct.js';
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

const reference = z
  .strictObject({
    name: z.string().min(1).describe('Of the scan it was made of.'),
    pieces: z.number().int().positive().describe('How many pieces of surface it holds.'),
    from: z.tuple([z.number(), z.number(), z.number()]).describe('Least x, y and z, mm.'),
    step: z.number().positive().describe('What coordinates are counted in, mm.'),
    surface: z
      .string()
      .min(1)
      .describe('Places and normals of the pieces, base64; fettle measure --keep-reference writes it.'),
  })
  .describe(
    'What the object looked like, in the axes the plan speaks in: every scan is laid on it before the first step.',
  );

/** All of a plan but its steps: those are checked one by one, each by the form it has. */
export const planHead = {
  $schema: z.string().optional().describe('Where the JSON Schema of plans is, for editors.'),
  version: z.literal(1).describe('Version of the plan format.'),
  title: shortText.min(1).describe('What is measured; heads the job sheet.'),
  scanner: scannerSchema.optional(),
  reference: reference.optional(),
};

/** A measuring plan: ordered steps, each with an id; a step refers to earlier ones only. Lengths in mm, angles in degrees. */
export interface Plan {
  readonly $schema?: string;
  readonly version: 1;
  readonly title: string;
  readonly scanner?: StatedScanner;
  readonly reference?: KeptReference;
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
