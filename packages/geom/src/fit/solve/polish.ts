import { levenbergMarquardt } from 'ml-levenberg-marquardt';
import { addScaled, dot, normalize, type Vec3 } from '../../math/vec3.js';
import { BLOCK, type Distances, STRIDE, toLocal } from './normal-equations.js';
import { type Parameter, type Placement, place } from './placement.js';
import type { PointSet } from './point-set.js';

const STEPS = 10;

export interface Polished {
  readonly placement: Placement;
  /** mm² */
  readonly squares: number;
}

/**
 * Carry a rough start into its minimum, on a hundred points, with ml-levenberg-marquardt. The free parameters are moves of the
 * start in its own axes, in units of `size`, because the library's damping knows no units.
 *
 * Tried, 1,000 draws of circles, spheres, cylinders and cones each (tests/geom/null-space.ts): 25 steps on 300 points instead of 10
 * on 100, 35 ms more a cylinder and no draw fewer that ended elsewhere, for none did; the Gauss-Newton steps used on all points
 * instead of the library, 3 ms less a sphere or cone and again no difference.
 */
export function polish(
  shape: Distances,
  set: PointSet,
  origin: Vec3,
  size: number,
  start: Placement,
  free: readonly number[],
): Polished {
  const names = free.map((p) => shape.parameters[p]);
  const chart = chartFrom(start, names, size);
  const height = set.count * shape.components;
  const distances = new Float64Array(height);
  const slopes = new Float64Array(height * free.length);
  let at: readonly number[] = [];
  const evaluate = (values: readonly number[]): void => {
    if (values.length === at.length && values.every((value, i) => value === at[i])) return;
    at = values.slice();
    fillChart(shape, set, origin, size, chart(values), free, distances, slopes);
  };
  const points = Float64Array.from({ length: height }, (_, i) => i);
  const initialValues = free.map(() => 0);
  try {
    const { parameterValues, parameterError } = levenbergMarquardt(
      { x: points, y: new Float64Array(height) },
      (values) => {
        evaluate(values);
        return (i) => distances[i];
      },
      {
        initialValues,
        jacobianFunction: (values) => {
          evaluate(values);
          return (i) => Array.from(slopes.subarray(i * free.length, (i + 1) * free.length));
        },
        damping: 1e-3,
        maxIterations: STEPS,
        errorTolerance: 1e-24 * height,
      },
    );
    return { placement: chart(parameterValues).placement, squares: parameterError * size * size };
  } catch (error) {
    if (!(error instanceof Error && error.message.includes('singular'))) throw error;
    // Straight points, or few: some moves change no distance. The start stands.
    evaluate(initialValues);
    return { placement: start, squares: distances.reduce((s, d) => s + d * d, 0) * size * size };
  }
}

interface ChartPoint {
  readonly placement: Placement;
  /** How the placement's own parameters (columns: all of the shape's, by name) change with the chart's (rows). */
  slope(own: Parameter, chart: number): number;
}

/** Placements by moves from `start` that add up in fixed axes: the same numbers always mean the same placement. */
function chartFrom(
  start: Placement,
  names: readonly Parameter[],
  size: number,
): (values: readonly number[]) => ChartPoint {
  const axis: Partial<Record<Parameter, Vec3>> = {
    'shift-u': start.u,
    'shift-v': start.v,
    'shift-w': start.w,
    'tilt-u': start.u,
    'tilt-v': start.v,
  };
  return (values) => {
    let { at, w: tilted, radius, halfAngle } = start;
    names.forEach((name, i) => {
      const value = values[i];
      if (name === 'radius') radius += value * size;
      else if (name === 'half-angle') halfAngle += value;
      else if (name === 'tilt-u' || name === 'tilt-v') tilted = addScaled(tilted, axis[name]!, value);
      else at = addScaled(at, axis[name]!, value * size);
    });
    const long = Math.sqrt(dot(tilted, tilted));
    const placement = place(at, normalize(tilted), radius, halfAngle);
    const { u, v, w } = placement;
    const slope = (own: Parameter, chart: number): number => {
      const name = names[chart];
      const along = axis[name];
      if (!along) return own === name ? (name === 'radius' ? size : 1) : 0;
      const isTilt = name === 'tilt-u' || name === 'tilt-v';
      switch (own) {
        case 'shift-u':
          return isTilt ? 0 : dot(along, u) * size;
        case 'shift-v':
          return isTilt ? 0 : dot(along, v) * size;
        case 'shift-w':
          return isTilt ? 0 : dot(along, w) * size;
        case 'tilt-u':
          return isTilt ? dot(along, u) / long : 0;
        case 'tilt-v':
          return isTilt ? dot(along, v) / long : 0;
        // A cone moved along its axis is as much wider at the same place.
        case 'radius':
          return isTilt ? 0 : -dot(along, w) * Math.tan(halfAngle) * size;
        case 'half-angle':
          return 0;
      }
    };
    return { placement, slope };
  };
}

const x = new Float64Array(BLOCK);
const y = new Float64Array(BLOCK);
const z = new Float64Array(BLOCK);

/** Distances in units of `size`, and their derivatives by the chart's parameters, one row a distance. */
function fillChart(
  shape: Distances,
  set: PointSet,
  origin: Vec3,
  size: number,
  { placement, slope }: ChartPoint,
  free: readonly number[],
  distances: Float64Array,
  slopes: Float64Array,
): void {
  const own = shape.parameters;
  const m = own.length;
  const turn = free.map((_, chart) => own.map((name) => slope(name, chart) / size));
  const rows = new Float64Array((m + 1) * STRIDE);
  for (let from = 0; from < set.count; from += BLOCK) {
    const count = Math.min(BLOCK, set.count - from);
    toLocal(set.xyz, from, count, placement, origin, x, y, z);
    shape.fillRows(x, y, z, count, rows, placement.radius, placement.halfAngle);
    const height = count * shape.components;
    for (let k = 0; k < height; k++) {
      const i = from * shape.components + k;
      distances[i] = rows[m * STRIDE + k] / size;
      for (let c = 0; c < free.length; c++) {
        let s = 0;
        for (let p = 0; p < m; p++) s += rows[p * STRIDE + k] * turn[c][p];
        slopes[i * free.length + c] = s;
      }
    }
  }
}
