import { z } from 'zod';
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

/** All of a plan but its steps: those are checked one by one, each by the form it has. */
export const planHead = {
  $schema: z.string().optional().describe('Where the JSON Schema of plans is, for editors.'),
  version: z.literal(1).describe('Version of the plan format.'),
  title: shortText.min(1).describe('What is measured; heads the job sheet.'),
  scanner: scannerSchema.optional(),
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
