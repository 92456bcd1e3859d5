import {
  type Feature,
  FettleError,
  polylineLength,
  type Results,
  type SheetRow,
  type SheetValue,
  type StepOutcome,
  scanFrame,
  type Vec2,
  type Vec3,
} from '@fettle/geom';
import type { View, ViewName } from '../picture/view.js';
import { isExact, shortNumber, uncertaintyText, valueText } from '../text/number-text.js';
import type { Drawing, DrawnDatum, DrawnDimension, Shape } from './drawing.js';
import { look, type Seen } from './feature-look.js';
import { reachOf } from './feature-reach.js';
import { dot, type Sight, sightOf } from './sight.js';
import { NOTES, sizeText } from './size-text.js';

export interface FeatureDrawingOptions {
  /** Along which they are seen, in the axes of the datum frame. Default `top`. */
  readonly view?: View | ViewName;
  /** The scan's positions (xyz xyz …, mm): planes and cylinders are drawn as far as their points reach. */
  readonly positions?: Float64Array;
  /** Normals of its points, out of the material: what they tell to be a bore is drawn as hidden from its side. */
  readonly normals?: Float32Array | Float64Array;
  /** Ids of the features to draw. Default: all. */
  readonly only?: readonly string[];
}

/**
 * The features of results as seen along an axis of their datum frame: circles with center lines, planes seen edge on, axes, centers
 * and measured distances that lie in the drawing, datum letters, balloons, and a table of the places of all centers. Sections across
 * the line of sight lie below them, narrow.
 *
 * @throws FettleError `results-without-outcomes` where the features were left out of the results; `view`
 */
export function featureDrawing(results: Results, options: FeatureDrawingOptions = {}): Drawing {
  if (results.outcomes.length === 0 && results.sheet.length > 0)
    throw new FettleError(
      'results-without-outcomes',
      'These results hold the job sheet alone, no features to draw. Measure with outcomes.',
    );
  const { view = 'top', only, positions, normals } = options;
  const frame = results.frame ?? scanFrame;
  const sight = sightOf(frame, view);
  const rows = new Map(results.sheet.map((row) => [row.id, row]));
  const chosen = results.outcomes.filter(({ id }) => only === undefined || only.includes(id));
  const seen = chosen.flatMap((outcome) => {
    const feature = featureOf(outcome);
    if (!feature) return [];
    const isBore = outcome.kind === 'fit' && isBoreByNormals(outcome.fit, positions, normals);
    const bare = look(feature, sight, reachOf(outcome, positions), isBore ? 'hidden' : 'outline');
    const shown = outcome.kind === 'construct' && outcome.pattern ? asCenterLines(bare) : bare;
    const criterion = outcome.kind === 'fit' ? outcome.fit.criterion : undefined;
    return [{ id: outcome.id, feature, seen: shown, ...(criterion && { criterion }) }];
  });
  // Places are best estimates: extreme points place nothing.
  const table = seen.flatMap(({ id, feature, criterion, seen: { center } }) => {
    const row = criterion === undefined || criterion === 'least-squares' ? rows.get(id) : undefined;
    return row ? tableRows(row, feature, center && frame.toFrame(center)) : [];
  });
  const dimensions = chosen.flatMap((outcome) => dimensionOf(outcome, sight, rows));
  const labels = eachOnce(sizeLabels(seen, rows));
  const axes = (['x', 'y', 'z'] as const).flatMap((name) => {
    const along = sight.flatDirection(frame[name]);
    return Math.hypot(...along) > 1 - 1e-9 ? [{ name, along }] : [];
  });
  return {
    shapes: [...sectionShapes(results, sight), ...seen.flatMap((one) => one.seen.shapes)],
    dimensions,
    labels,
    balloons: seen.flatMap(({ id, seen: { at } }) => {
      const number = rows.get(id)?.balloon;
      return number !== undefined && at ? [{ number, at }] : [];
    }),
    datums: datumsOf(results, seen),
    origin: { at: sight.flat(frame.origin), axes },
    ...(table.length > 0 && { table: [TITLES, ...table] }),
    ...(labels.length + dimensions.length + table.length > 0 && { notes: [NOTES.doubt] }),
  };
}

/** What holes stand on is no edge of the part: bolt circles and rows are center lines (ISO 128-2, 04.1). */
const asCenterLines = (seen: Seen): Seen => ({
  ...seen,
  shapes: seen.shapes.map((shape) => ({ ...shape, line: 'center' })),
});

function featureOf(outcome: StepOutcome): Feature | undefined {
  if (outcome.kind === 'fit') return outcome.fit.feature;
  return outcome.kind === 'construct' ? outcome.feature : undefined;
}

/** Polylines shorter than this share of the longest are specks. */
const SPECK = 0.02;

/** Sections across the line of sight, narrow and without specks: they show the part the features belong to. */
function sectionShapes({ outcomes }: Results, sight: Sight): Shape[] {
  return outcomes.flatMap((outcome): Shape[] => {
    if (outcome.kind !== 'section' || Math.abs(dot(outcome.section.plane.normal, sight.back)) < 1 - 1e-6) return [];
    const lengths = outcome.section.polylines.map(polylineLength);
    const longest = Math.max(...lengths);
    const parts = outcome.section.polylines.filter((_, p) => lengths[p]! >= SPECK * longest);
    return parts.map(({ points, closed }) => {
      const flat = new Float64Array((2 * points.length) / 3);
      for (let i = 0, j = 0; i < points.length; i += 3, j += 2)
        flat.set(sight.flat([points[i]!, points[i + 1]!, points[i + 2]!]), j);
      return { kind: 'polyline', line: 'thin', flat, closed };
    });
  });
}

/** What a diameter is that is not the best estimate, in a word behind it; one between the circles of a zone tells of form, not of size. */
const BY_CRITERION: Readonly<Record<string, string | undefined>> = {
  'least-squares': '',
  'maximum-inscribed': ' inscribed',
  'minimum-circumscribed': ' circumscribed',
};

/** Diameters of what is seen round, each with an arrow on its outline. */
export function sizeLabels(
  seen: readonly { readonly id: string; readonly seen: Seen; readonly criterion?: string }[],
  rows: ReadonlyMap<string, SheetRow>,
): Drawing['labels'] {
  return seen.flatMap(({ id, seen: { rim, outward }, criterion = 'least-squares' }) => {
    const diameter = rows.get(id)?.values.find(({ name }) => name === 'diameter');
    const word = BY_CRITERION[criterion];
    if (!rim || !diameter || word === undefined) return [];
    const text = `${sizeText(diameter, '⌀')}${word}`;
    return [{ at: rim, text, arrow: true, ...(outward && { prefer: outward }) }];
  });
}

/** Of the points of a cylinder or a cone: whether their normals point to its axis. */
function isBoreByNormals(
  { feature, used }: Extract<StepOutcome, { kind: 'fit' }>['fit'],
  positions: Float64Array | undefined,
  normals: Float32Array | Float64Array | undefined,
): boolean {
  if (!positions || !normals || (feature.kind !== 'cylinder' && feature.kind !== 'cone')) return false;
  const from = feature.kind === 'cylinder' ? feature.point : feature.apex;
  const { direction } = feature;
  let sum = 0;
  for (const i of used) {
    const p = 3 * i;
    // Fits to sections count points of their own.
    if (p + 2 >= positions.length) return false;
    const off: Vec3 = [positions[p]! - from[0], positions[p + 1]! - from[1], positions[p + 2]! - from[2]];
    const along = dot(off, direction);
    for (let k = 0; k < 3; k++) sum += (off[k]! - along * direction[k]!) * normals[p + k]!;
  }
  return sum < 0;
}

/** Sizes that several features have alike are written at the first of them, with their number (ISO 129-1): `5× ⌀5 given`. */
export function eachOnce(labels: Drawing['labels']): Drawing['labels'] {
  return labels.flatMap((label, i) => {
    const alike = labels.filter(({ text }) => text === label.text);
    if (labels.findIndex(({ text }) => text === label.text) !== i) return [];
    return [alike.length === 1 ? label : { ...label, text: `${alike.length}× ${label.text}` }];
  });
}

/** A measured distance that lies in the drawing, to a thousandth of itself. */
export function dimensionOf(outcome: StepOutcome, sight: Sight, rows: ReadonlyMap<string, SheetRow>): DrawnDimension[] {
  if (outcome.kind !== 'measure' || outcome.between === undefined) return [];
  const [from, to] = outcome.between.map((p) => sight.flat(p)) as [Vec2, Vec2];
  const shown = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (Math.abs(shown - outcome.value.value) > 1e-3 * outcome.value.value) return [];
  const balloon = rows.get(outcome.id)?.balloon;
  return [{ from, to, text: sizeText(outcome.value), ...(balloon !== undefined && { balloon }) }];
}

/** Of the table of places. */
export const TITLES = ['no.', 'feature', 'x', 'y', 'z', '±', '⌀', '±'] as const;
const AXES = ['x', 'y', 'z'] as const;

/**
 * The place of a center, or where an axis crosses a plane of the frame, with the largest ± of its coordinates; and the diameter there.
 *
 * @param center in the frame; absent of an axis
 */
function tableRows(row: SheetRow, { kind }: Feature, center: Vec3 | undefined): string[][] {
  const [, crossed, level] = /crosses ([xyz]) = (-?[\d.]+)/.exec(row.where ?? '') ?? [];
  const isAxis = (kind === 'cylinder' || kind === 'cone') && crossed !== undefined;
  if (!isAxis && (center === undefined || kind === 'cone')) return [];
  const told = (name: string): SheetValue | undefined => row.values.find((one) => one.name === name);
  const place = AXES.map((name, k) => {
    const value = told(name);
    if (value && !isExact(value)) return valueText(value);
    return shortNumber(isAxis && name === crossed ? Number(level) : (value?.value ?? center?.[k] ?? 0));
  });
  const widest = AXES.flatMap((name) => told(name) ?? []).reduce<SheetValue | undefined>(
    (most, one) => ((one.uncertainty ?? 0) > (most?.uncertainty ?? 0) ? one : most),
    undefined,
  );
  const diameter = told('diameter');
  return [
    [
      String(row.balloon),
      row.id,
      ...place,
      widest ? uncertaintyText(widest) : '',
      diameter ? (diameter.given ? shortNumber(diameter.value) : valueText(diameter)) : '',
      diameter ? uncertaintyText(diameter) : '',
    ],
  ];
}

/** Letters for the datums of the last frame, in the order of ISO 5459: primary A, secondary B, tertiary C. */
function datumsOf(results: Results, seen: readonly { readonly id: string; readonly seen: Seen }[]): DrawnDatum[] {
  const step = results.plan.steps.find(({ id }) => id === results.frameId);
  if (step?.step !== 'frame') return [];
  const ids = 'planes' in step ? step.planes : [step.plane, step.line];
  return (ids as readonly unknown[]).flatMap((id, i) => {
    const found = seen.find((one) => one.id === id);
    if (!found?.seen.at) return [];
    const { at, outward } = found.seen;
    return [{ letter: 'ABC'[i]!, at, ...(outward && { outward }) }];
  });
}
