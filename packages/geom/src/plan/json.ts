import type { Warning } from '../error.js';
import type { Feature } from '../feature/feature.js';
import type { Uncertainty } from '../fit/uncertainty.js';
import type { Frame } from '../frame/frame.js';
import { version } from '../version.js';
import type { Plan } from './plan.js';
import type { Limits, Results, SheetRow, StepOutcome } from './results.js';

type Triple = readonly [number, number, number];

/** A frame in scan axes, mm. */
export interface FrameJson {
  readonly id: string;
  readonly origin: Triple;
  readonly x: Triple;
  readonly y: Triple;
  readonly z: Triple;
  /** Scan to frame, column-major 4×4. */
  readonly matrix: readonly number[];
}

/** A feature in scan axes, mm and radians, with its uncertainty as in {@link Uncertainty}. */
export interface FeatureJson {
  readonly id: string;
  readonly feature: Feature;
  readonly uncertainty?: {
    readonly at: Triple;
    readonly axes: readonly [Triple, Triple, Triple];
    /** Row-major. */
    readonly covariance: readonly number[];
    /** null: infinitely many. */
    readonly degreesOfFreedom: number | null;
    readonly reach: number;
  };
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
  /** The last frame the plan made; null if it made none. */
  readonly frame: FrameJson | null;
  /** Every frame the plan made. */
  readonly frames: readonly FrameJson[];
  readonly sheet: readonly SheetRow[];
  readonly features: readonly FeatureJson[];
  readonly warnings: readonly Warning[];
  /** As it was run. */
  readonly plan: Plan;
}

const frameJson = (id: string, { origin, x, y, z, matrix }: Frame): FrameJson => ({
  id,
  origin,
  x,
  y,
  z,
  matrix: Array.from(matrix),
});

const uncertaintyJson = ({ at, axes, covariance, degreesOfFreedom, reach }: Uncertainty) => ({
  at,
  axes,
  covariance: Array.from(covariance),
  degreesOfFreedom: Number.isFinite(degreesOfFreedom) ? degreesOfFreedom : null,
  reach,
});

function featureJson(outcome: StepOutcome): FeatureJson[] {
  if (outcome.kind !== 'fit' && outcome.kind !== 'construct') return [];
  const { feature, uncertainty } = outcome.kind === 'fit' ? outcome.fit : outcome;
  return [{ id: outcome.id, feature, ...(uncertainty && { uncertainty: uncertaintyJson(uncertainty) }) }];
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
  values: values.map(({ name, value, unit, uncertainty, limits, verdict }) => ({
    name,
    value,
    unit,
    ...(uncertainty !== undefined && { uncertainty }),
    ...(limits !== undefined && { limits: limitsJson(limits) }),
    ...(verdict !== undefined && { verdict }),
  })),
  ...(rms !== undefined && { rms }),
  ...(form !== undefined && { form }),
  ...(used !== undefined && { used }),
  ...(rejected !== undefined && { rejected }),
  warnings: warnings.map(({ code, message }) => ({ code, message })),
});

/** Results as plain data for `JSON.stringify`. */
export function resultsToJson(results: Results): ResultsJson {
  const frames = results.outcomes.flatMap((o) => (o.kind === 'frame' ? [frameJson(o.id, o.frame)] : []));
  return {
    format: 'fettle-results',
    formatVersion: 1,
    fettle: version,
    title: results.title,
    scan: results.scan,
    passed: results.passed,
    frame: results.frame && results.frameId !== undefined ? frameJson(results.frameId, results.frame) : null,
    frames,
    sheet: results.sheet.map(rowJson),
    features: results.outcomes.flatMap(featureJson),
    warnings: results.warnings.map(({ code, message }) => ({ code, message })),
    plan: results.plan,
  };
}
