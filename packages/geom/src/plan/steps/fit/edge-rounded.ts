import type { Warning } from '../../../error.js';
import type { Circle, Feature, Plane } from '../../../feature/feature.js';
import type { Fit } from '../../../fit/fit.js';
import { expanded } from '../../../fit/uncertainty/expanded.js';
import type { Mesh } from '../../../scan/scan.js';
import { roundingOf } from '../../../section/cut/deeper-circle.js';
import { chordsOf } from '../../../section/mesh/chords.js';
import { lengthText } from '../../../text/number-text.js';
import type { Context } from '../../step/context.js';
import { widened } from './widened.js';

/** A bias of more than this share of the ± makes it untrue. */
const SHARE = 0.5;

/** Coverage factors are no smaller: so divided an error that is known is held whole by the ±. */
const LEAST_FACTOR = 1.9;

/** Parameters that a surface above its chords makes too small or large, and how many times: a width has two sides. */
const OFF: Partial<Record<Feature['kind'], ReadonlyMap<number, number>>> = {
  line: new Map([
    [0, 1],
    [1, 1],
  ]),
  circle: new Map([[5, 1]]),
  slot: new Map([
    [3, 2],
    [4, 2],
  ]),
  ellipse: new Map([
    [3, 1],
    [4, 1],
  ]),
};

/**
 * Widens the ± of a fit to the section of a mesh that runs so near to an edge of the body, or over so tight a bend, that it is rounded off
 * there, by its maker or by the triangles, and warns of it: no residual shows it. A circle is compared with the wall deeper down; of
 * other shapes, and of edges over which the normals turn, the chords tell.
 *
 * @param fit as made of crossings, xyz xyz …; a circle's are off their chords already
 * @param side middle length of the edges a circle's points lie on, mm
 */
export function withRoundedEdge(
  fit: Fit<Feature>,
  points: Float64Array,
  mesh: Mesh,
  plane: Plane,
  side: number,
  context: Context,
): Fit<Feature> {
  const { kind } = fit.feature;
  const { position, radius, width, minor } = expanded(fit.uncertainty);
  const parts = [position, radius, width, minor].flatMap((part) => (part && part.value > 0 ? [part.value] : []));
  const stated = Math.min(...parts);
  const isGiven = kind === 'circle' && !(radius && radius.value > 0);
  if (isGiven) return fit;
  const rounding = kind === 'circle' ? roundingOf(mesh, plane, fit as Fit<Circle>, side) : undefined;
  if (rounding && Math.abs(rounding.off) > SHARE * stated)
    return offBy(fit, (Math.abs(rounding.off) + 2 * rounding.standard) / LEAST_FACTOR, [
      `The section runs along a rounded edge: some ${lengthText(short(rounding.deeper))} deeper the radius of its wall is ` +
        `${lengthText(short(Math.abs(rounding.off)))} ${rounding.off > 0 ? 'smaller' : 'larger'}. That much is in its ±. ` +
        'Cut farther from the edge, by two triangles or more, or scan finer.',
    ]);
  const used = Float64Array.from([...fit.used].flatMap((i) => [points[3 * i], points[3 * i + 1], points[3 * i + 2]]));
  const chords = chordsOf(mesh, plane, used, (at) => context.normals.at(at));
  if (chords === undefined || (kind === 'circle' && chords.turning === 0)) return fit;
  const { turning } = chords;
  // Over a sharp edge of the body the surface stands up to twice as high over its chords.
  const off = (turning > 0 ? 2 : 1) * Math.abs(chords.under);
  if (!(off > SHARE * stated)) return fit;
  const where =
    turning > 0
      ? `The section runs along an edge that the triangles round off: at ${Math.max(1, Math.round(100 * turning))} % of its points the ` +
        `surface turns by more than 20° over one triangle of some ${lengthText(short(chords.side))}.`
      : 'The points of the section lie on chords of a bent surface, where it crosses edges of triangles.';
  return offBy(fit, off / LEAST_FACTOR, [
    `${where} The ${kind} may be off by some ${lengthText(Number(off.toPrecision(1)))}: that much is in its ±. ` +
      (turning > 0 ? 'Cut farther from the edge, by two triangles or more, or scan finer.' : 'Scan finer.'),
  ]);
}

function offBy(fit: Fit<Feature>, standard: number, messages: readonly string[]): Fit<Feature> {
  const by = new Map([...(OFF[fit.feature.kind] ?? [])].map(([p, times]) => [p, times * standard]));
  return widened(
    fit,
    by,
    messages.map((message): Warning => ({ code: 'edge-rounded', message })),
  );
}

const short = (value: number): number => Number(value.toPrecision(2));
