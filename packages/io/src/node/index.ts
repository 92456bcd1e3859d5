export { FettleError } from '@fettle/geom';
export { type OpenOptions, openScan } from './files.js';
export { indexInThread } from './index-in-thread.js';
export {
  type MeasuredFile,
  type MeasuredFiles,
  type MeasureFilesOptions,
  type MeasureProgress,
  measureFile,
  measureFiles,
} from './measure-files.js';
export type { MeasureStage } from './measure-scan.js';
export { readPlan } from './plan-file.js';
export { writeFileWhole } from './write-whole.js';
