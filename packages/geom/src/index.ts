export { acuteAngle } from './construct/alignment.js';
export { angleOf } from './construct/angle.js';
export type { Constructed } from './construct/constructed.js';
export * from './construct/distance.js';
export {
  intersect,
  intersectLinePlane,
  intersectLines,
  intersectPlanes,
  intersectThreePlanes,
} from './construct/intersect.js';
export { midplane } from './construct/midplane.js';
export { offsetPlane } from './construct/offset.js';
export { project, projectOnLine, projectOnPlane } from './construct/project.js';
export { axisOf, centerOf, directionOf, planeOf } from './construct/roles.js';
export { lineThrough, midpoint, planeThrough } from './construct/through.js';
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
export * from './frame/datum-frame.js';
export type { Frame } from './frame/frame.js';
export { frameOf, scanFrame } from './frame/frame.js';
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
