import type { Feature, Plane } from '../../../feature/feature.js';
import type { Fit } from '../../../fit/fit.js';
import { fitShape } from '../../../fit/fit-shape.js';
import type { Points } from '../../../scan/scan.js';
import type { Context } from '../../context.js';
import { circleOffChords } from './circle-off-chords.js';
import { withRoundedEdge } from './edge-rounded.js';
import type { GivenFitStep } from './hand-size.js';
import { optionsOf } from './options.js';
import type { Shape } from './schema.js';

const flat: readonly Shape[] = ['circle', 'slot', 'ellipse'];

/** The fit a step asks for. Of a mesh's section its ± holds what lies between the points crossed and the surface. */
export function fitted(step: GivenFitStep, points: Points, plane: Plane | undefined, context: Context): Fit<Feature> {
  const inPlane = plane !== undefined && flat.includes(step.shape) ? { plane } : {};
  const options = { ...inPlane, ...optionsOf(step, context) };
  const { scan } = context;
  if (plane === undefined || scan.triangles === undefined || step.every !== undefined)
    return fitShape(step.shape, points, options);
  const mesh = { ...scan, triangles: scan.triangles };
  if (step.shape !== 'circle')
    return withRoundedEdge(fitShape(step.shape, points, options), points.positions, mesh, plane, 0, context);
  const { fit, side } = circleOffChords(mesh, plane, points.positions, options);
  return withRoundedEdge(fit, points.positions, mesh, plane, side, context);
}
