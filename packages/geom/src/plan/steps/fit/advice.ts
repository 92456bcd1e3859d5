import type { Feature, Plane } from '../../../feature/feature.js';
import type { Fit } from '../../../fit/fit.js';
import type { Points } from '../../../scan/scan.js';
import type { Context } from '../../step/context.js';
import type { Objection } from '../../step/kind.js';
import type { Reading } from '../../step/reading.js';
import { type Advice, adviceOn, objectToAdvice } from '../../step/size-advice.js';
import { isHoleByNormals, isHoleByOutline } from './hole-or-shaft.js';
import type { FitStep } from './schema.js';

/** Asks, when it is called, whether a fitted circle or cylinder is a hole; undefined where the scan does not tell. */
export function holeQuestion(
  { feature, used }: Fit<Feature>,
  points: Points,
  plane: Plane | undefined,
  { normals, scan }: Context,
): () => boolean | undefined {
  return () => {
    if (feature.kind !== 'circle' && feature.kind !== 'cylinder') return undefined;
    // The outlines of a cloud's section run any way round.
    if (plane && !scan.triangles) return undefined;
    if (plane && feature.kind === 'circle')
      return isHoleByOutline(feature, { positions: points.positions, used, plane });
    const own = normals.at(used);
    return own && isHoleByNormals(feature, { positions: points.positions, normals: own, select: used });
  };
}

/** What the tables say of the diameter on the job sheet. */
export function adviceOnFit(step: FitStep, told: readonly Reading[], isHole: () => boolean | undefined): Advice {
  const { screw, fit, nominal } = step;
  const diameter = told.find(({ name }) => name === 'diameter');
  if (diameter === undefined || (!screw && fit === undefined)) return { words: [], warnings: [] };
  const { value, uncertainty } = diameter;
  const side = isHole();
  const size = {
    value,
    ...(uncertainty !== undefined && { uncertainty }),
    ...(side !== undefined && { isHole: side }),
  };
  return adviceOn(size, { screw, fit, nominal });
}

/** What of it can be told to be wrong before the scan is read. */
export function objectToFitAdvice(step: FitStep): readonly Objection[] {
  const { diameter, radius } = step.known ?? {};
  const given = typeof diameter === 'number' ? diameter : typeof radius === 'number' ? 2 * radius : undefined;
  return objectToAdvice(step, given);
}
