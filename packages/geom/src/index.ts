export { FettleError, type Warning } from './error.js';
export type * from './feature/feature.js';
export type * from './fit/fit.js';
export {
  type FitForUncertainty,
  fitUncertainty,
  lengthBound,
  type ScannerAccuracy,
  type Uncertainty,
} from './fit/uncertainty.js';
export type { Frame } from './frame/frame.js';
export { type Random, seededRandom } from './math/random.js';
export type { Vec3 } from './math/vec3.js';
export { checkPlan, PlanError, type PlanProblem } from './plan/check.js';
export type {
  ConstructStep,
  DeliverStep,
  FitStep,
  FrameStep,
  MeasureStep,
  Plan,
  RegionStep,
  Scanner,
  SectionStep,
  Step,
  StepName,
} from './plan/plan.js';
export { planJsonSchema } from './plan/plan.js';
export type * from './plan/results.js';
export type { Bounds, Points, Scan } from './scan/scan.js';
export type { Polyline, Section } from './section/section.js';
