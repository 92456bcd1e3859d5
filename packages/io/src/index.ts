export { FettleError } from '@fettle/geom';
export { CAUTION } from './report/caution.js';
export { type JobSheetCsvOptions, jobSheetCsv } from './report/job-sheet-csv.js';
export { type JobSheetTableOptions, jobSheetTable } from './report/job-sheet-table.js';
export { type ComparedValue, compareScans, type NamedResults, type ScanComparison } from './report/scan-comparison.js';
export { scanComparisonCsv } from './report/scan-comparison-csv.js';
export { type ScanComparisonTableOptions, scanComparisonTable } from './report/scan-comparison-table.js';
export type { SheetColumn } from './report/sheet-column.js';
