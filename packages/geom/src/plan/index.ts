/** Measuring plans: read, checked, run, written down. Nothing in geometry needs them. */

export { checkPlan, PlanError, type PlanProblem } from './check.js';
export { type StepRefusal, withFailedStep } from './failed-step.js';
export * from './json.js';
export { layOnReference } from './lay.js';
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
  Plan,
  PrepareStep,
  RegionStep,
  SectionStep,
  Step,
  StepName,
} from './plan.js';
export { planJsonSchema } from './plan.js';
export { preparedScan } from './prepared-scan.js';
export type { ProfileJson, ProfilePieceJson } from './profile-json.js';
export type * from './results.js';
export { demandMeasured, runPlan } from './run.js';
export { type PlanRun, type PlanRunner, planRunner, type RunnerOptions } from './runner.js';
export { simplifyDeliveries } from './simplify-deliveries.js';
export { isUnknown, passable } from './step/judge.js';
export type * from './step/outcome.js';
export type { Scanner, StatedScanner } from './step/scanner.js';
export { scannerOf } from './step/scanner.js';
export { LONGEST_NOTE, LONGEST_TITLE } from './step/text-lengths.js';
export { renameReferences, stepReferences } from './steps.js';
