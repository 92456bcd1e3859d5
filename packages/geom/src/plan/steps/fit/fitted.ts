import type { Feature, Plane } from '../../../feature/feature.js';
import { fitShape } from '../../../fit/by-kind/fit-shape.js';
import type { Fit } from '../../../fit/fit.js';
import type { Points } from '../../../scan/scan.js';
import type { Context } from '../../step/context.js';
import { circleOffChords } from './circle-off-chords.js';
import { withRoundedEdge } from './edge-rounded.js';
import { polylinesOf, withoutFew } from './few-decide.js';
import type { GivenFitStep } from './hand-size.js';
import { optionsOf } from './options.js';
import type { Shape } from './schema.js';

const flat: readonly Shape[] = ['circle', 'slot', 'ellipse'];

/**
 * The fit a step asks for. Of a section its ± holds what few of its points decide; of a mesh's also what lies between the points crossed
 * and the surface.
 */
export function fitted(step: GivenFitStep, points: Points, plane: Plane | undefined, context: Context): Fit<Feature> {
  const inPlane = plane !== undefined && flat.includes(step.shape) ? { plane } : {};
  const options = { ...inPlane, ...optionsOf(step, context) };
  const cut = context.section(step.to)?.section;
  if (plane === undefined || cut === undefined) return fitShape(step.shape, points, options);
  const { positions } = points;
  const { fit, fittedTo } = toSection(step, points, plane, options, context);
  const { reject: _reject, robust: _robust, ...again } = options;
  return withoutFew(fit, polylinesOf(cut, positions), (select) => {
    const start = { initial: fit.feature } as object;
    return fitShape(step.shape, { positions: fittedTo, select }, { ...again, ...start });
  });
}

function toSection(
  step: GivenFitStep,
  points: Points,
  plane: Plane,
  options: object,
  context: Context,
): { readonly fit: Fit<Feature>; readonly fittedTo: Float64Array } {
  const { scan } = context;
  const { positions } = points;
  if (scan.triangles === undefined || step.every !== undefined)
    return { fit: fitShape(step.shape, points, options), fittedTo: positions };
  const mesh = { ...scan, triangles: scan.triangles };
  if (step.shape !== 'circle') {
    const fit = fitShape(step.shape, points, options);
    return { fit: withRoundedEdge(fit, positions, mesh, plane, 0, context), fittedTo: positions };
  }
  const off = circleOffChords(mesh, plane, positions, options);
  return { fit: withRoundedEdge(off.fit, positions, mesh, plane, off.side, context), fittedTo: off.positions };
}
