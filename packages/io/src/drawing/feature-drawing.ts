import {
  type Feature,
  FettleError,
  polylineLength,
  type Results,
  type SheetRow,
  type StepOutcome,
  scanFrame,
  type Vec2,
  type Vec3,
} from '@fettle/geom';
import type { View, ViewName } from '../picture/view.js';
import { fixed, valueText } from '../report/number-text.js';
import type { Drawing, DrawnDatum, DrawnDimension, Shape } from './drawing.js';
import { look, type Seen } from './feature-look.js';
import { reachOf } from './feature-reach.js';
import { dot, type Sight, sightOf } from './sight.js';

export interface FeatureDrawingOptions {
  /** Along which they are seen, in the axes of the datum frame. Default `top`. */
  readonly view?: View | ViewName;
  /** The scan's positions (xyz xyz …, mm): planes and cylinders are drawn as far as their points reach. */
  readonly positions?: Float64Array;
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
  const { view = 'top', only, positions } = options;
  const frame = results.frame ?? scanFrame;
  const sight = sightOf(frame, view);
  const rows = new Map(results.sheet.map((row) => [row.id, row]));
  const chosen = results.outcomes.filter(({ id }) => only === undefined || only.includes(id));
  const seen = chosen.flatMap((outcome) => {
    const feature = featureOf(outcome);
    return feature ? [{ id: outcome.id, feature, seen: look(feature, sight, reachOf(outcome, positions)) }] : [];
  });
  const centers = seen.filter(({ seen: { center }, id }) => center !== undefined && rows.has(id));
  const table = centers.map(({ id, seen: { center } }) => tableRow(rows.get(id)!, frame.toFrame(center!)));
  const axes = (['x', 'y', 'z'] as const).flatMap((name) => {
    const along = sight.flatDirection(frame[name]);
    return Math.hypot(...along) > 1 - 1e-9 ? [{ name, along }] : [];
  });
  return {
    shapes: [...sectionShapes(results, sight), ...seen.flatMap((one) => one.seen.shapes)],
    dimensions: chosen.flatMap((outcome) => dimensionOf(outcome, sight, rows)),
    labels: eachOnce(
      seen.flatMap(({ id, seen: { rim } }) => {
        const diameter = rows.get(id)?.values.find(({ name }) => name === 'diameter');
        return rim && diameter ? [{ at: rim, text: `⌀ ${valueText(diameter)}` }] : [];
      }),
    ),
    balloons: seen.flatMap(({ id, seen: { at } }) => {
      const number = rows.get(id)?.balloon;
      return number !== undefined && at ? [{ number, at }] : [];
    }),
    datums: datumsOf(results, seen),
    origin: { at: sight.flat(frame.origin), axes },
    ...(table.length > 0 && { table: [['no.', 'feature', 'x', 'y', 'z', '⌀'], ...table] }),
  };
}

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

/** Sizes that several features have alike are written at the first of them, with their number (ISO 129-1): `5× ⌀ 5.000`. */
function eachOnce(labels: Drawing['labels']): Drawing['labels'] {
  return labels.flatMap((label, i) => {
    const alike = labels.filter(({ text }) => text === label.text);
    if (labels.findIndex(({ text }) => text === label.text) !== i) return [];
    return [alike.length === 1 ? label : { ...label, text: `${alike.length}× ${label.text}` }];
  });
}

/** A measured distance that lies in the drawing, to a thousandth of itself. */
function dimensionOf(outcome: StepOutcome, sight: Sight, rows: ReadonlyMap<string, SheetRow>): DrawnDimension[] {
  if (outcome.kind !== 'measure' || outcome.between === undefined) return [];
  const [from, to] = outcome.between.map((p) => sight.flat(p)) as [Vec2, Vec2];
  const shown = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (Math.abs(shown - outcome.value.value) > 1e-3 * outcome.value.value) return [];
  const balloon = rows.get(outcome.id)?.balloon;
  return [{ from, to, text: valueText(outcome.value), ...(balloon !== undefined && { balloon }) }];
}

function tableRow(row: SheetRow, center: Vec3): string[] {
  const textOf = (name: string): string => {
    const value = row.values.find((one) => one.name === name);
    return value ? valueText(value) : '';
  };
  const place = (['x', 'y', 'z'] as const).map((name, k) => textOf(name) || fixed(center[k]!, 3));
  return [String(row.balloon), row.id, ...place, textOf('diameter')];
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
