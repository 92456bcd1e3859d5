export { FettleError } from '@fettle/geom';
export { type HandedOver, type HandOverOptions, handOver } from './deliver/hand-over.js';
export { type OutputFile, type OutputFileOptions, outputFiles } from './deliver/output-files.js';
export type { Drawing, DrawnDatum, DrawnDimension, Shape } from './drawing/drawing.js';
export { type FeatureDrawingOptions, featureDrawing } from './drawing/feature-drawing.js';
export type { LineType } from './drawing/line-type.js';
export { outcomeDrawing } from './drawing/outcome-drawing.js';
export type { Paper, PaperName } from './drawing/paper.js';
export { toldByPoints } from './drawing/profile-sizes.js';
export { type SectionDrawingOptions, sectionDrawing } from './drawing/section-drawing.js';
export { laySheet, type Sheet, type SheetOptions } from './drawing/sheet.js';
export { sizeText } from './drawing/size-text.js';
export type { TitleBlock } from './drawing/title-block.js';
export { type SvgOptions, writeSvg } from './drawing/write-svg.js';
export { type LabelRequest, type LabelSurroundings, type PlacedLabel, placeLabels } from './labels/place-labels.js';
export { type MeasuredMarks, measuredMarks } from './picture/measured-marks.js';
export { measuredPicture } from './picture/measured-picture.js';
export type { PictureBalloon, PlacedBalloon } from './picture/picture-balloons.js';
export { type Pixels, type PngOptions, pngBytes } from './picture/png.js';
export { drawPicture, type Picture, type PictureOptions, renderPicture } from './picture/render-picture.js';
export { pictureNormals, type TintedRegion } from './picture/shade.js';
export type { Rgb } from './picture/tint.js';
export { type View, type ViewName, views } from './picture/view.js';
export type { ByteSource } from './read/byte-chunks.js';
export { beginsAsPlan } from './read/plan-head.js';
export { planFromBytes, planFromText } from './read/plan-text.js';
export { isReadable, judgeSize, type ProbableUnit, type SizeJudged, type UnitOffer } from './read/plausible-size.js';
export { type ReadOptions, readScan } from './read/read-scan.js';
export { formatNames, type ReadScan, type ScanFormat, type ScanSource } from './read/scan-source.js';
export { type LengthUnit, millimetersIn } from './read/units.js';
export { CAUTION } from './report/caution.js';
export { cssColor, divergingColor, niceAbove, residualRange } from './report/html-diverging.js';
export { type ReportOptions, reportHtml } from './report/html-report.js';
export { type JobSheetCsvOptions, jobSheetCsv } from './report/job-sheet-csv.js';
export { type JobSheetTableOptions, jobSheetTable } from './report/job-sheet-table.js';
export { resultsJson } from './report/results-json.js';
export {
  type ComparedValue,
  compareScans,
  type NamedResults,
  type ScanComparison,
  type ScanFailure,
  type UnmeasuredScan,
} from './report/scan-comparison.js';
export { scanComparisonCsv } from './report/scan-comparison-csv.js';
export { type ScanComparisonTableOptions, scanComparisonTable } from './report/scan-comparison-table.js';
export { type ScanInfo, scanInfo } from './report/scan-info.js';
export { scanInfoText } from './report/scan-info-text.js';
export type { SheetColumn } from './report/sheet-column.js';
export type * from './step/item.js';
export { type StepOfResultsOptions, stepOfResults } from './step/items-of-results.js';
export type { StepSchema } from './step/schema.js';
export {
  counted,
  countText,
  decimalsOf,
  fixed,
  isExact,
  isUnsure,
  limitsText,
  megabytes,
  shortNumber,
  UNSURE,
  uncertaintyText,
  valueText,
} from './text/number-text.js';
export { unbroken } from './text/text-layout.js';
export { bytesOf, type Chunks } from './write/chunks.js';
export { type ObjOptions, writeObj } from './write/obj.js';
export { type PlyOptions, writePly } from './write/ply.js';
export { type StepOptions, writeStep } from './write/step.js';
export { type StlOptions, writeStl } from './write/stl.js';
export { type ThreeMfOptions, write3mf } from './write/threemf.js';
export { writeXyz, type XyzOptions } from './write/xyz.js';
