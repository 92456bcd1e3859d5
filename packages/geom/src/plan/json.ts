import type { Warning } from '../error.js';
import type { Feature } from '../feature/feature.js';
import type { Uncertainty } from '../feature/uncertainty.js';
import type { Coverage, KnownComparison } from '../fit/fit.js';
import type { Frame } from '../math/frame.js';
import type { ScanNoise } from '../noise/scan-noise.js';
import type { Deviation } from '../prepare/deviation.js';
import type { LengthCheck } from '../prepare/known-length.js';
import type { BoltCircle } from '../relate/bolt-circle.js';
import type { HoleGrid } from '../relate/hole-grid.js';
import type { HoleRow } from '../relate/hole-row.js';
import type { Hole } from '../scan/holes.js';
import type { LengthUnit } from '../scan/length-unit.js';
import type { Scan } from '../scan/scan.js';
import { version } from '../version.js';
import type { Plan } from './plan.js';
import { type ProfileJson, profileJson } from './profile-json.js';
import type { FailedStep, Results, SheetRow } from './results.js';
import type { Agreement, Limits, StepOutcome } from './step/outcome.js';

type Triple = readonly [number, number, number];

/** Standard deviations and lengths, mm. */
export interface NoiseJson {
  readonly from: ScanNoise['from'];
  /** What each point has to itself. */
  readonly white?: number;
  readonly shared?: readonly { readonly kernel: string; readonly length: number; readonly deviation: number }[];
  /** Where it was measured: in scan axes, mm and mm². */
  readonly surfaces: readonly { readonly center: Triple; readonly area: number; readonly rms: number }[];
}

/** A frame in scan axes, mm. */
export interface FrameJson {
  readonly id: string;
  readonly origin: Triple;
  readonly x: Triple;
  readonly y: Triple;
  readonly z: Triple;
  /** Scan to frame, column-major 4×4. */
  readonly matrix: readonly number[];
  readonly uncertainty?: UncertaintyJson;
}

/** {@link Uncertainty} without what is not a number. */
export interface UncertaintyJson {
  readonly at: Triple;
  readonly axes: readonly [Triple, Triple, Triple];
  /** Row-major. */
  readonly covariance: readonly number[];
  /** null: infinitely many. */
  readonly degreesOfFreedom: number | null;
  readonly reach: number;
  /** The error of the scan's scale, shared by all its features, that is in the covariance; absent: none. */
  readonly scale?: { readonly standard: number; readonly growth: readonly number[] };
}

/** A feature in scan axes, mm and radians. */
export interface FeatureJson {
  readonly id: string;
  readonly feature: Feature;
  readonly uncertainty?: UncertaintyJson;
  /** Of a fit: how much of the whole shape its points show. */
  readonly coverage?: Coverage;
  /** Of a fit: given values beside what the points alone say. */
  readonly known?: readonly KnownComparison[];
  /** Of a pattern of holes: its places. */
  readonly pattern?: Omit<BoltCircle, 'feature'> | Omit<HoleRow, 'feature'> | Omit<HoleGrid, 'feature'>;
}

/**
 * Results as JSON: what `results.json` holds. Stable: fields are added, never renamed or removed, without a new
 * `formatVersion`. Lengths in mm; angles on the sheet in degrees, in features in radians. Every number has all its digits;
 * nothing is kept a point.
 */
export interface ResultsJson {
  readonly format: 'fettle-results';
  readonly formatVersion: 1;
  /** Version of the library that measured. */
  readonly fettle: string;
  readonly title: string;
  readonly scan: { readonly name: string; readonly points: number; readonly triangles: number };
  readonly passed: boolean;
  /** The scan's noise, by which each ± allows for what neighbors share; absent where no step asked for it. */
  readonly noise?: NoiseJson;
  /** The last frame the plan made; null if it made none. */
  readonly frame: FrameJson | null;
  /** Every frame the plan made. */
  readonly frames: readonly FrameJson[];
  readonly sheet: readonly SheetRow[];
  readonly features: readonly FeatureJson[];
  readonly warnings: readonly Warning[];
  /** Steps that gave nothing, in plan order; absent without any. */
  readonly failed?: readonly FailedStep[];
  /** One entry a step that prepared the scan; absent without any. */
  readonly prepared?: readonly PreparedJson[];
  /** One entry a delivery that was simplified; absent without any. */
  readonly simplified?: readonly SimplifiedJson[];
  /** One entry a step that delivers the scan; absent without any. */
  readonly delivered?: readonly DeliveredJson[];
  /** One entry a step measured by hand; absent without any. */
  readonly byHand?: readonly ByHandJson[];
  /** One entry a section step that asked for its profile; absent without any. */
  readonly profiles?: readonly ProfileJson[];
  /** As it was run. */
  readonly plan: Plan;
}

/** What was measured by hand, mm, and what the scan says of it. Of a size that fits took, their `known` says the same. */
export interface ByHandJson {
  readonly id: string;
  readonly name: string;
  readonly value: number;
  /** ± with coverage factor 2. */
  readonly uncertainty?: number;
  readonly instrument?: string;
  readonly onScan?: Agreement;
}

/** What a step that prepares the scan did. */
export interface PreparedJson {
  readonly id: string;
  readonly words: string;
  /** What is left, and what was removed. */
  readonly points: number;
  readonly triangles: number;
  readonly removedPoints: number;
  readonly removedTriangles: number;
  /** Of a known length: mm. */
  readonly length?: Omit<LengthCheck, 'scan'>;
  /** Of a listing of holes: how long each rim is, mm, whether it closes, and where it starts, in scan axes. */
  readonly holes?: readonly HoleJson[];
}

export interface HoleJson {
  readonly perimeter: number;
  readonly closed: boolean;
  readonly points: number;
  readonly at: Triple;
}

/** A scan file the plan asks for. */
export interface DeliveredJson {
  readonly id: string;
  readonly format: string;
  /** Of the file's coordinates. */
  readonly units: LengthUnit;
  /** Id of the frame it is set on; null: as scanned. */
  readonly frame: string | null;
}

/** What a delivery was simplified to. */
export interface SimplifiedJson {
  readonly id: string;
  readonly points: number;
  readonly triangles: number;
  readonly protectedTriangles: number;
  /** Measured, mm; places in the axes of the scan. */
  readonly deviation: Deviation;
}

function holeJson({ positions }: Scan, { perimeter, closed, points }: Hole): HoleJson {
  const p = 3 * points[0];
  return { perimeter, closed, points: points.length, at: [positions[p], positions[p + 1], positions[p + 2]] };
}

function preparedJson(outcome: StepOutcome): PreparedJson[] {
  if (outcome.kind !== 'prepare') return [];
  const { id, words, prepared, length, holes } = outcome;
  const { scan, removedPoints, removedTriangles } = prepared;
  const { scan: _, ...numbers } = length ?? {};
  return [
    {
      id,
      words,
      points: scan.positions.length / 3,
      triangles: (scan.triangles?.length ?? 0) / 3,
      removedPoints: removedPoints.length,
      removedTriangles: removedTriangles.length,
      ...(length && { length: numbers as Omit<LengthCheck, 'scan'> }),
      ...(holes && { holes: holes.map((hole) => holeJson(scan, hole)) }),
    },
  ];
}

function simplifiedJson(outcome: StepOutcome): SimplifiedJson[] {
  if (outcome.kind !== 'deliver' || !outcome.simplified) return [];
  const { scan, protectedTriangles, deviation } = outcome.simplified;
  return [
    {
      id: outcome.id,
      points: scan.positions.length / 3,
      triangles: scan.triangles.length / 3,
      protectedTriangles,
      deviation,
    },
  ];
}

function deliveredJson(outcome: StepOutcome): DeliveredJson[] {
  if (outcome.kind !== 'deliver' || !('scan' in outcome.deliver)) return [];
  const { format, units = 'mm', in: frame = null } = outcome.deliver.scan;
  return [{ id: outcome.id, format, units, frame }];
}

function byHandJson(outcome: StepOutcome): ByHandJson[] {
  if (outcome.kind !== 'by-hand') return [];
  const { id, value, instrument, onScan } = outcome;
  return [
    {
      id,
      name: value.name,
      value: value.value,
      ...(value.uncertainty !== undefined && { uncertainty: value.uncertainty }),
      ...(instrument !== undefined && { instrument }),
      ...(onScan && { onScan }),
    },
  ];
}

const frameJson = (id: string, { origin, x, y, z, matrix }: Frame, uncertainty?: Uncertainty): FrameJson => ({
  id,
  origin,
  x,
  y,
  z,
  matrix: Array.from(matrix),
  ...(uncertainty && { uncertainty: uncertaintyJson(uncertainty) }),
});

const uncertaintyJson = ({ at, axes, covariance, degreesOfFreedom, reach, scale }: Uncertainty): UncertaintyJson => ({
  at,
  axes,
  covariance: Array.from(covariance),
  degreesOfFreedom: Number.isFinite(degreesOfFreedom) ? degreesOfFreedom : null,
  reach,
  ...(scale && { scale: { standard: scale.standard, growth: Array.from(scale.growth) } }),
});

function featureJson(outcome: StepOutcome): FeatureJson[] {
  if (outcome.kind === 'fit') {
    const { feature, uncertainty, coverage, known } = outcome.fit;
    return [{ id: outcome.id, feature, uncertainty: uncertaintyJson(uncertainty), coverage, ...(known && { known }) }];
  }
  if (outcome.kind !== 'construct') return [];
  const { id, feature, uncertainty, pattern } = outcome;
  const told = uncertainty && { uncertainty: uncertaintyJson(uncertainty) };
  if (pattern === undefined) return [{ id, feature, ...told }];
  const { feature: _, ...places } = pattern;
  return [{ id, feature, ...told, pattern: places }];
}

const limitsJson = ({ min, max }: Limits): Limits => ({
  ...(min !== undefined && { min }),
  ...(max !== undefined && { max }),
});

/** A row with its fields in one order, whatever order they were made in. */
const rowJson = ({
  balloon,
  id,
  step,
  what,
  note,
  frame,
  values,
  uncertainty: trust,
  advice,
  rms,
  form,
  used,
  rejected,
  warnings,
}: SheetRow): SheetRow => ({
  balloon,
  id,
  step,
  what,
  ...(note !== undefined && { note }),
  frame,
  values: values.map(({ name, value, unit, uncertainty, limits, ends, verdict }) => ({
    name,
    value,
    unit,
    ...(uncertainty !== undefined && { uncertainty }),
    ...(limits !== undefined && { limits: limitsJson(limits) }),
    ...(ends !== undefined && { ends: limitsJson(ends) }),
    ...(verdict !== undefined && { verdict }),
  })),
  ...(trust !== undefined && { uncertainty: trust }),
  ...(advice !== undefined && { advice }),
  ...(rms !== undefined && { rms }),
  ...(form !== undefined && { form }),
  ...(used !== undefined && { used }),
  ...(rejected !== undefined && { rejected }),
  warnings: warnings.map(({ code, message }) => ({ code, message })),
});

const failedJson = ({ id, step, code, message, waitsFor, leftOut }: FailedStep): FailedStep => ({
  id,
  step,
  code,
  message,
  ...(waitsFor !== undefined && { waitsFor }),
  ...(leftOut && { leftOut }),
});

/** Of results whose outcomes were left behind. */
const lastFrame = ({ frame, frameId }: Results): FrameJson | null =>
  frame && frameId !== undefined ? frameJson(frameId, frame) : null;

/** Results as plain data for `JSON.stringify`. */
const noiseJson = ({ from, model, surfaces }: ScanNoise): NoiseJson => ({
  from,
  ...(model && {
    white: Math.sqrt(model.white),
    shared: model.terms.map(({ kernel, length, variance }) => ({ kernel, length, deviation: Math.sqrt(variance) })),
  }),
  surfaces: surfaces.map(({ center, area, rms }) => ({ center, area, rms })),
});

export function resultsToJson(results: Results): ResultsJson {
  const frames = results.outcomes.flatMap((o) => (o.kind === 'frame' ? [frameJson(o.id, o.frame, o.uncertainty)] : []));
  const prepared = results.outcomes.flatMap(preparedJson);
  const simplified = results.outcomes.flatMap(simplifiedJson);
  const delivered = results.outcomes.flatMap(deliveredJson);
  const byHand = results.outcomes.flatMap(byHandJson);
  const profiles = results.outcomes.flatMap(profileJson);
  return {
    format: 'fettle-results',
    formatVersion: 1,
    fettle: version,
    title: results.title,
    scan: results.scan,
    passed: results.passed,
    ...(results.noise && { noise: noiseJson(results.noise) }),
    frame: frames.at(-1) ?? lastFrame(results),
    frames,
    sheet: results.sheet.map(rowJson),
    features: results.outcomes.flatMap(featureJson),
    warnings: results.warnings.map(({ code, message }) => ({ code, message })),
    ...(results.failed.length > 0 && { failed: results.failed.map(failedJson) }),
    ...(prepared.length > 0 && { prepared }),
    ...(simplified.length > 0 && { simplified }),
    ...(delivered.length > 0 && { delivered }),
    ...(byHand.length > 0 && { byHand }),
    ...(profiles.length > 0 && { profiles }),
    plan: results.plan,
  };
}
