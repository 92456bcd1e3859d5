import {
  type Feature,
  FettleError,
  type Frame,
  planeOf,
  polylineLength,
  type Results,
  type SheetRow,
  type StepOutcome,
  scanFrame,
  type Vec2,
  type Vec3,
} from '@fettle/geom';
import { type View, type ViewName, viewAxes } from '../picture/view.js';
import { fixed, valueText } from '../report/number-text.js';
import type { Drawing, DrawnDatum, DrawnDimension, Shape } from './drawing.js';

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
    labels: seen.flatMap(({ id, seen: { rim } }) => {
      const diameter = rows.get(id)?.values.find(({ name }) => name === 'diameter');
      return rim && diameter ? [{ at: rim, text: `⌀ ${valueText(diameter)}` }] : [];
    }),
    balloons: seen.flatMap(({ id, seen: { at } }) => {
      const number = rows.get(id)?.balloon;
      return number !== undefined && at ? [{ number, at }] : [];
    }),
    datums: datumsOf(results, seen),
    origin: { at: sight.flat(frame.origin), axes },
    ...(table.length > 0 && { table: [['no.', 'feature', 'x', 'y', 'z', '⌀'], ...table] }),
  };
}

/** Looking along an axis: flat coordinates of the drawing, and depth. */
interface Sight {
  readonly back: Vec3;
  flat(p: Vec3): Vec2;
  flatDirection(v: Vec3): Vec2;
}

function sightOf(frame: Frame, view: View | ViewName): Sight {
  const axes = viewAxes(view);
  const inScan = (v: Vec3): Vec3 =>
    [0, 1, 2].map((k) => v[0] * frame.x[k]! + v[1] * frame.y[k]! + v[2] * frame.z[k]!) as unknown as Vec3;
  const [right, up, back] = [inScan(axes.right), inScan(axes.up), inScan(axes.back)];
  const flatDirection = (v: Vec3): Vec2 => [dot(v, right), dot(v, up)];
  const { origin } = frame;
  return {
    back,
    flatDirection,
    flat: (p) => flatDirection([p[0] - origin[0], p[1] - origin[1], p[2] - origin[2]]),
  };
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const moved = (p: Vec3, along: Vec3, by: number): Vec3 => [
  p[0] + by * along[0],
  p[1] + by * along[1],
  p[2] + by * along[2],
];

function featureOf(outcome: StepOutcome): Feature | undefined {
  if (outcome.kind === 'fit') return outcome.fit.feature;
  return outcome.kind === 'construct' ? outcome.feature : undefined;
}

/** Places a feature reaches to, in scan axes: the points a fit used, thinned; the ends of a constructed line. */
type Reach = readonly Vec3[];

/** Points looked at for how far a feature reaches. */
const REACH_POINTS = 5_000;

function reachOf(outcome: StepOutcome, positions: Float64Array | undefined): Reach {
  if (outcome.kind === 'construct' && outcome.feature.kind === 'line' && outcome.uncertainty) {
    const { at, reach } = outcome.uncertainty;
    return [moved(at, outcome.feature.direction, -reach), moved(at, outcome.feature.direction, reach)];
  }
  if (outcome.kind !== 'fit' || positions === undefined) return [];
  const { used } = outcome.fit;
  const step = Math.max(1, Math.floor(used.length / REACH_POINTS));
  const found: Vec3[] = [];
  for (let i = 0; i < used.length; i += step) {
    const p = 3 * used[i]!;
    // Fits to sections count points of their own.
    if (p + 2 >= positions.length) return [];
    found.push([positions[p]!, positions[p + 1]!, positions[p + 2]!]);
  }
  return found;
}

/** How a feature looks from one side. */
interface Seen {
  readonly shapes: readonly Shape[];
  /** Where its balloon points. */
  readonly at?: Vec2;
  /** Its center, of features with one. */
  readonly center?: Vec3;
  /** A place on its round outline. */
  readonly rim?: Vec2;
  /** Seen edge on: the direction out of the material. */
  readonly outward?: Vec2;
}

/** Within this of square or parallel, as a sine: 0.6°. */
const ALIGNED = 0.01;

function look(feature: Feature, sight: Sight, reach: Reach): Seen {
  switch (feature.kind) {
    case 'plane':
      return lookAtPlane(feature.normal, feature.point, sight, reach);
    case 'line':
      return lookAtAxis(feature.point, feature.direction, sight, reach, 'thin');
    case 'point':
      return {
        shapes: [{ kind: 'center-mark', line: 'thin', center: sight.flat(feature.position), radius: 0 }],
        at: sight.flat(feature.position),
        center: feature.position,
      };
    case 'circle':
      return lookAtRing(
        feature.center,
        sight,
        ringOf(feature),
        feature.radius,
        Math.abs(dot(feature.normal, sight.back)),
      );
    case 'sphere': {
      const center = sight.flat(feature.center);
      return { ...fullCircle(center, feature.radius), center: feature.center };
    }
    case 'cylinder':
      return lookAtCylinder(feature, sight, reach);
    case 'cone':
      return { ...lookAtAxis(feature.apex, feature.direction, sight, reach, 'center'), center: feature.apex };
    case 'slot':
    case 'ellipse':
      return lookAtRing(feature.center, sight, ringOf(feature), undefined, Math.abs(dot(feature.normal, sight.back)));
  }
}

function lookAtPlane(normal: Vec3, point: Vec3, sight: Sight, reach: Reach): Seen {
  const places = reach.map(sight.flat);
  const isEdgeOn = Math.abs(dot(normal, sight.back)) < 0.1;
  if (!isEdgeOn || places.length === 0) return { shapes: [], at: middlePlace(places) ?? sight.flat(point) };
  const [nx, ny] = sight.flatDirection(normal);
  const size = Math.hypot(nx, ny);
  const outward: Vec2 = [nx / size, ny / size];
  const along: Vec2 = [-outward[1], outward[0]];
  const foot = sight.flat(point);
  const offset = foot[0] * outward[0] + foot[1] * outward[1];
  const [from, to] = span(places.map(([x, y]) => x * along[0] + y * along[1]));
  const on = (s: number): Vec2 => [along[0] * s + outward[0] * offset, along[1] * s + outward[1] * offset];
  return { shapes: [segment(on(from), on(to), 'outline')], at: on((from + to) / 2), outward };
}

function lookAtAxis(point: Vec3, direction: Vec3, sight: Sight, reach: Reach, line: 'thin' | 'center'): Seen {
  const at = sight.flat(point);
  const isEndOn = Math.hypot(...sight.flatDirection(direction)) < ALIGNED;
  if (isEndOn) return { shapes: [{ kind: 'center-mark', line: 'center', center: at, radius: 2 }], at };
  if (reach.length === 0) return { shapes: [], at };
  const [from, to] = span(reach.map((p) => dot([p[0] - point[0], p[1] - point[1], p[2] - point[2]], direction)));
  const ends = [from, to].map((s) => sight.flat(moved(point, direction, s)));
  return {
    shapes: [segment(ends[0]!, ends[1]!, line)],
    at: [(ends[0]![0] + ends[1]![0]) / 2, (ends[0]![1] + ends[1]![1]) / 2],
  };
}

function lookAtCylinder(
  { point, direction, radius }: Extract<Feature, { kind: 'cylinder' }>,
  sight: Sight,
  reach: Reach,
): Seen {
  const [dx, dy] = sight.flatDirection(direction);
  const shown = Math.hypot(dx, dy);
  if (shown < ALIGNED) return fullCircle(sight.flat(point), radius);
  const axis = lookAtAxis(point, direction, sight, reach, 'center');
  const [middle] = axis.shapes;
  if (middle?.kind !== 'polyline') return axis;
  const across: Vec2 = [(-dy / shown) * radius, (dx / shown) * radius];
  const [ax, ay, bx, by] = middle.flat;
  const sides = [-1, 1].map((s) =>
    segment([ax! + s * across[0], ay! + s * across[1]], [bx! + s * across[0], by! + s * across[1]], 'outline'),
  );
  return { ...axis, shapes: [...sides, middle] };
}

function fullCircle(center: Vec2, radius: number): Seen {
  const shapes: Shape[] = [
    { kind: 'arc', line: 'outline', center, radius, start: [center[0] + radius, center[1]], sweep: 2 * Math.PI },
    { kind: 'center-mark', line: 'center', center, radius },
  ];
  const place = (degrees: number): Vec2 => {
    const angle = (degrees * Math.PI) / 180;
    return [center[0] + radius * Math.cos(angle), center[1] + radius * Math.sin(angle)];
  };
  return { shapes, at: place(60), rim: place(-30) };
}

function lookAtRing(
  center: Vec3,
  sight: Sight,
  ring: readonly Vec3[],
  radius: number | undefined,
  faceOn: number,
): Seen {
  const middle = sight.flat(center);
  if (radius !== undefined && faceOn > 1 - ALIGNED ** 2 / 2) return { ...fullCircle(middle, radius), center };
  const places = ring.map(sight.flat);
  const reach = Math.max(...places.map(([x, y]) => Math.hypot(x - middle[0], y - middle[1])));
  return {
    shapes: [
      { kind: 'polyline', line: 'outline', flat: Float64Array.from(places.flat()), closed: true },
      { kind: 'center-mark', line: 'center', center: middle, radius: reach },
    ],
    at: places[0]!,
    center,
  };
}

/** Places around a flat outline, in scan axes. */
function ringOf(feature: Extract<Feature, { kind: 'circle' | 'slot' | 'ellipse' }>): Vec3[] {
  const { normal } = planeOf(feature);
  const u: Vec3 = 'direction' in feature ? feature.direction : anyAcross(normal);
  const v: Vec3 = [
    normal[1] * u[2] - normal[2] * u[1],
    normal[2] * u[0] - normal[0] * u[2],
    normal[0] * u[1] - normal[1] * u[0],
  ];
  return Array.from({ length: 96 }, (_, i) => {
    const angle = (2 * Math.PI * i) / 96;
    let [a, b] = [Math.cos(angle), Math.sin(angle)];
    if (feature.kind === 'circle') [a, b] = [feature.radius * a, feature.radius * b];
    else if (feature.kind === 'ellipse') [a, b] = [feature.major * a, feature.minor * b];
    else {
      const end = (feature.length - feature.width) / 2;
      [a, b] = [(feature.width / 2) * a + Math.sign(a) * end, (feature.width / 2) * b];
    }
    return moved(moved(feature.center, u, a), v, b);
  });
}

function anyAcross(n: Vec3): Vec3 {
  const least = n.map(Math.abs).indexOf(Math.min(...n.map(Math.abs)));
  const across: Vec3 = least === 0 ? [0, n[2], -n[1]] : least === 1 ? [-n[2], 0, n[0]] : [n[1], -n[0], 0];
  const size = Math.hypot(...across);
  return [across[0] / size, across[1] / size, across[2] / size];
}

const segment = (from: Vec2, to: Vec2, line: Shape['line']): Shape => ({
  kind: 'polyline',
  line,
  flat: Float64Array.of(...from, ...to),
  closed: false,
});

/** Least and greatest, less the outermost half per cent on each side. */
function span(values: readonly number[]): [number, number] {
  const sorted = Float64Array.from(values).sort();
  const off = Math.floor(0.005 * sorted.length);
  return [sorted[off]!, sorted[sorted.length - 1 - off]!];
}

/** The place nearest to the mean of all. */
function middlePlace(places: readonly Vec2[]): Vec2 | undefined {
  const x = places.reduce((sum, p) => sum + p[0], 0) / places.length;
  const y = places.reduce((sum, p) => sum + p[1], 0) / places.length;
  const far = (p: Vec2): number => Math.hypot(p[0] - x, p[1] - y);
  return places.length > 0 ? places.reduce((best, p) => (far(p) < far(best) ? p : best)) : undefined;
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
