import {
  type DeliverCadStep,
  type DeliverDrawingStep,
  type DeliverPictureStep,
  type DeliverScanStep,
  type DeliverStep,
  FettleError,
  type Frame,
  preparedScan,
  type Results,
  type Scan,
  transformScan,
} from '@fettle/geom';
import type { Drawing } from '../drawing/drawing.js';
import { featureDrawing } from '../drawing/feature-drawing.js';
import { outcomeDrawing } from '../drawing/outcome-drawing.js';
import { writeSvg } from '../drawing/write-svg.js';
import { measuredPicture } from '../picture/measured-picture.js';
import { pngBytes } from '../picture/png.js';
import { type ReportOptions, reportHtml } from '../report/html-report.js';
import { jobSheetCsv } from '../report/job-sheet-csv.js';
import { resultsJson } from '../report/results-json.js';
import { stepOfResults } from '../step/items-of-results.js';
import { writeObj } from '../write/obj.js';
import { writePly } from '../write/ply.js';
import { writeStep } from '../write/step.js';
import { writeStl } from '../write/stl.js';
import { write3mf } from '../write/threemf.js';
import { deliveredName, JOB_SHEET, RESULTS, scanInFrameName } from './output-name.js';

/** A file that is made when its pieces are asked for. */
export interface OutputFile {
  readonly name: string;
  /** Id of the `deliver` step that asks for it; absent of what is always written. */
  readonly step?: string;
  /** It tells which steps failed, those included whose files could not be made. */
  readonly tellsFailures?: true;
  chunks(): Iterable<Uint8Array>;
}

export interface OutputFileOptions {
  /** The file the scan was read from, for the report. */
  readonly source?: ReportOptions['source'];
  /** What else took part, for the report. */
  readonly versions?: ReportOptions['versions'];
  /** Date of issue of drawings and reports, as `2026-03-14`. Default: today. */
  readonly date?: string;
}

/**
 * The files of what a plan gave on a scan: `results.json`, `job-sheet.csv`, and scans, STEP files, drawings, pictures and reports as the
 * plan's `deliver` steps ask, each named by its id. A plan without such a step but with a frame gives the scan in that frame,
 * `scan-in-<frame>.ply`.
 *
 * @param results with deliveries simplified where the plan asks for it: see `simplifyDeliveries`
 * @param scan as it was given to the plan
 */
export function outputFiles(results: Results, scan: Scan, options: OutputFileOptions = {}): OutputFile[] {
  return [
    { name: RESULTS, tellsFailures: true, chunks: () => [encode(resultsJson(results))] },
    { name: JOB_SHEET, tellsFailures: true, chunks: () => [encode(jobSheetCsv(results))] },
    ...deliveries(scan, results, options),
  ];
}

const encoder = new TextEncoder();
const encode = (text: string): Uint8Array => encoder.encode(text);

const WRITERS = { ply: writePly, obj: writeObj, stl: writeStl, '3mf': write3mf };

function deliveries(scan: Scan, results: Results, options: OutputFileOptions): OutputFile[] {
  const asked = results.outcomes.flatMap((outcome) => (outcome.kind === 'deliver' ? [outcome.deliver] : []));
  const { frame, frameId } = results;
  if (results.plan.steps.some(({ step }) => step === 'deliver'))
    return asked.map((deliver) => ({
      name: deliveredName(deliver),
      step: deliver.id,
      ...('report' in deliver && { tellsFailures: true as const }),
      chunks: delivery(deliver, scan, results, options),
    }));
  if (frame === undefined) return [];
  const prepared = preparedScan(results.outcomes, scan);
  return [{ name: scanInFrameName(frameId!), chunks: () => writePly(set(prepared, frame)) }];
}

type Delivery = OutputFile['chunks'];

function delivery(deliver: DeliverStep, scan: Scan, results: Results, options: OutputFileOptions): Delivery {
  const { source, versions, date = new Date().toISOString().slice(0, 10) } = options;
  if ('cad' in deliver) return cadOutput(deliver, scan, results);
  if ('drawing' in deliver) return drawingOutput(deliver, scan, results, date);
  if ('picture' in deliver) return pictureOutput(deliver, scan, results);
  if ('scan' in deliver) return scanOutput(deliver, scan, results);
  const { creator } = deliver.report;
  const how = {
    date,
    ...(versions && { versions }),
    ...(source && { source }),
    ...(creator !== undefined && { creator }),
  };
  return () => [encode(reportHtml(results, scan, how))];
}

function drawingOutput({ drawing, note }: DeliverDrawingStep, scan: Scan, results: Results, date: string): Delivery {
  const { of, view = 'top', scale, paper } = drawing;
  const content = (): Drawing => {
    const found = results.outcomes.find((outcome) => outcome.id === of);
    if (found?.kind === 'section') return outcomeDrawing(found, results, scan);
    const { positions, normals } = preparedScan(results.outcomes, scan);
    return featureDrawing(results, { view, positions, ...(normals && { normals }) });
  };
  const subtitle = note ?? (of === undefined ? `Features, view: ${view}` : `Section ${of}`);
  const how = { title: results.title, subtitle, date, ...(scale && { scale }), ...(paper && { paper }) };
  return () => [encode(writeSvg(content(), how))];
}

function pictureOutput({ picture }: DeliverPictureStep, scan: Scan, results: Results): Delivery {
  const { view, width = 1200, height = Math.round(0.625 * width) } = picture;
  const how = { size: { width, height }, ...(view && { view }) };
  return () => [pngBytes(measuredPicture(results, scan, how), { palette: true })];
}

function scanOutput(deliver: DeliverScanStep, scan: Scan, results: Results): Delivery {
  const { format, units = 'mm' } = deliver.scan;
  return () => WRITERS[format](set(scanOf(deliver, scan, results), frameOf(deliver, results)), { units });
}

function cadOutput(deliver: DeliverCadStep, scan: Scan, results: Results): Delivery {
  const { schema, parts, ...which } = deliver.cad;
  const how = {
    product: results.title,
    file: deliveredName(deliver),
    ...(schema && { schema }),
    ...(parts && { parts }),
  };
  return () => writeStep(stepOfResults(results, scan, which), how);
}

const set = (scan: Scan, frame: Frame | undefined): Scan => (frame ? transformScan(scan, frame) : scan);

/** What a step delivers: the scan as it was prepared before it, simplified if asked for. */
function scanOf({ id }: DeliverScanStep, scan: Scan, { outcomes }: Results): Scan {
  for (const outcome of outcomes)
    if (outcome.kind === 'deliver' && outcome.id === id && outcome.simplified) return outcome.simplified.scan;
  return preparedScan(outcomes, scan, id);
}

function frameOf(deliver: DeliverScanStep, results: Results): Frame | undefined {
  const id = deliver.scan.in;
  if (id === undefined) return undefined;
  for (const outcome of results.outcomes) if (outcome.kind === 'frame' && outcome.id === id) return outcome.frame;
  throw new FettleError('plan-invalid', `${deliver.id}, scan.in: no step makes a frame "${id}".`);
}
