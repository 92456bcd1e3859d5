import {
  type DeliverStep,
  demandMeasured,
  FettleError,
  type Plan,
  type PlanRun,
  type Scan,
  type Warning,
} from '@fettle/geom';
import { bytesOf, handOver, type OutputFile, type OutputFileOptions } from '@fettle/io';
import { zipSync } from 'fflate';
import type { DeliveredFile, DeliverRequest } from './protocol.js';

/** The scan files are made of, and what is known of the file it came from. */
export interface DeliverySource {
  readonly scan: Scan;
  readonly warnings: readonly Warning[];
  readonly source?: OutputFileOptions['source'];
}

/**
 * Files of a plan, the same as the command writes. A plan that asks for no files gets a step for each kind there is something to
 * write of, so that what is handed over holds them too and the command makes the same from it.
 *
 * @throws FettleError of the step for which nothing could be measured, or of that which should make the one file asked for
 */
export async function deliver(
  plan: Plan,
  what: DeliverRequest,
  run: (plan: Plan) => PlanRun,
  { scan, warnings, source }: DeliverySource,
  onProgress: (file: string) => void,
): Promise<DeliveredFile[]> {
  const whole = planWithDeliveries(plan);
  const planFile: OutputFile = { name: 'plan.json', chunks: () => [encode(planText(whole))] };
  if (what === 'plan') return [made(planFile, onProgress)];
  const { plan: asked, steps } = withRequest(whole, what);
  const measured = run(asked);
  demandMeasured(measured);
  const told = { ...measured.results, warnings: [...warnings, ...measured.results.warnings] };
  const files: DeliveredFile[] = [];
  const { results, files: names } = await handOver(
    told,
    scan,
    (file) => {
      if (what === 'all' || isAsked(file, what, steps)) files.push(made(file, onProgress));
    },
    source ? { source } : {},
  );
  if (what === 'all') return [zipped(plan.title, [made(planFile, onProgress), ...inOrder(files, names)])];
  const missing = results.failed.find(({ id }) => steps.includes(id));
  if (files.length === 0 && missing) throw new FettleError(missing.code, missing.message);
  return files;
}

const inOrder = (files: readonly DeliveredFile[], names: readonly string[]): DeliveredFile[] =>
  files.toSorted((a, b) => names.indexOf(a.name) - names.indexOf(b.name));

function isAsked({ name, step }: OutputFile, what: DeliverRequest, steps: readonly string[]): boolean {
  if (what === 'results') return name === 'results.json';
  if (what === 'job-sheet') return name === 'job-sheet.csv';
  return step !== undefined && steps.includes(step);
}

function made(file: OutputFile, onProgress: (file: string) => void): DeliveredFile {
  onProgress(file.name);
  return { name: file.name, type: typeOf(file.name), bytes: bytesOf(file.chunks()) };
}

function zipped(title: string, files: readonly DeliveredFile[]): DeliveredFile {
  const entries = Object.fromEntries(files.map(({ name, bytes }) => [name, bytes]));
  return { name: `${fileName(title)}.zip`, type: 'application/zip', bytes: zipSync(entries, { level: 3 }) };
}

/** A title as the name of a file: what no file system takes is left out. */
function fileName(title: string): string {
  const plain = title.replaceAll(/[^\p{L}\p{N}]+/gu, '-').replaceAll(/^-+|-+$/g, '');
  return plain.slice(0, 60) || 'fettle';
}

/** A plan as the text of a JSON document that the command reads. */
export const planText = (plan: Plan): string => `${JSON.stringify(plan, undefined, 2)}\n`;

const isDelivery = (step: Plan['steps'][number]): step is DeliverStep => step.step === 'deliver';

/** A plan that asks for files: as it is where it does, else with a step for each kind. */
function planWithDeliveries(plan: Plan): Plan {
  if (plan.steps.some(isDelivery)) return plan;
  const hasFeature = plan.steps.some(({ step }) => step === 'fit' || step === 'construct');
  const sections = plan.steps.filter(({ step }) => step === 'section').map(({ id }) => ({ drawing: id }));
  const wanted: DeliverRequest[] = [...(hasFeature ? (['cad'] as const) : []), ...sections, 'report', 'scan'];
  return wanted.reduce((whole, what) => withRequest(whole, what).plan, plan);
}

/** A plan that asks for what is requested, and the ids of its steps that do. */
function withRequest(plan: Plan, what: DeliverRequest): { readonly plan: Plan; readonly steps: readonly string[] } {
  if (typeof what === 'string' && !isKind(what)) return { plan, steps: [] };
  const steps = plan.steps.filter(isDelivery).filter((step) => answers(step, what));
  if (steps.length > 0) return { plan, steps: steps.map(({ id }) => id) };
  const step = stepFor(what, plan);
  return { plan: { ...plan, steps: [...plan.steps, step] }, steps: [step.id] };
}

type Kind = 'cad' | 'report' | 'scan';
type Asked = Kind | Exclude<DeliverRequest, string>;
const isKind = (what: string): what is Kind => what === 'cad' || what === 'report' || what === 'scan';

/** Whether a step of the plan makes what is asked; a scan asked for in a format of its own gets a step of its own. */
function answers(step: DeliverStep, what: Asked): boolean {
  if (typeof what === 'string') return what in step;
  return 'drawing' in what && 'drawing' in step && step.drawing.of === what.drawing;
}

function stepFor(what: Asked, plan: Plan): DeliverStep {
  if (typeof what === 'object' && 'drawing' in what)
    return { step: 'deliver', id: freeId(`${what.drawing}-drawing`, plan), drawing: { of: what.drawing } };
  if (what === 'cad') return { step: 'deliver', id: freeId('cad', plan), cad: {} };
  if (what === 'report') return { step: 'deliver', id: freeId('report', plan), report: {} };
  const { format = 'ply', units = 'mm', triangles } = typeof what === 'object' ? what.scan : {};
  const frame = plan.steps.findLast(({ step }) => step === 'frame')?.id;
  return {
    step: 'deliver',
    id: freeId(frame === undefined ? 'scan-as-opened' : `scan-in-${frame}`, plan),
    scan: {
      format,
      ...(frame !== undefined && { in: frame }),
      ...(units !== 'mm' && { units }),
      ...(triangles !== undefined && { simplify: { triangles } }),
    },
  };
}

function freeId(word: string, { steps }: Plan): string {
  const isFree = (id: string) => steps.every((step) => step.id !== id);
  let id = word;
  for (let number = 2; !isFree(id); number++) id = `${word}-${number}`;
  return id;
}

const TYPES: Readonly<Record<string, string>> = {
  json: 'application/json',
  csv: 'text/csv',
  html: 'text/html',
  svg: 'image/svg+xml',
  png: 'image/png',
  step: 'model/step',
  stl: 'model/stl',
  obj: 'model/obj',
  '3mf': 'model/3mf',
};

const typeOf = (name: string): string => TYPES[name.slice(name.lastIndexOf('.') + 1)] ?? 'application/octet-stream';

const encode = (text: string): Uint8Array => new TextEncoder().encode(text);
