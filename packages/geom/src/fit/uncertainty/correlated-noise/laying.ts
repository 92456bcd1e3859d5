import type { FeatureKind } from '../../../feature/feature.js';
import type { PatchSource } from './patch-source.js';

/**
 * Which way a point is laid onto its feature before it is put in a cell, u, v, w and the distance from the axis or center that is
 * taken out. Without it the noise itself would sort the points into cells.
 */
export interface Laying {
  /** 1 or 0 for u and v together, and for w: whether the coordinate is kept. */
  readonly across: number;
  readonly along: number;
  /** Whether the distance in u and v, or in u, v and w, is made the same for all points: this one, mm. Zero: it is kept. */
  readonly axial: number;
  readonly central: number;
  /** Whether a point is moved to its foot on the outline, by its residual along the outline's normal. */
  readonly toFoot: boolean;
  /** Whether noise still moves points about: cells must then be wide beside it. */
  readonly isRough: boolean;
}

/** A cone keeps its points' distances from the axis: there cells are wide beside the noise. */
export function layingFor(kind: FeatureKind, local: Float64Array): Laying {
  let axial = 0;
  let central = 0;
  for (let p = 0; p < local.length; p += 3) {
    const across = local[p] * local[p] + local[p + 1] * local[p + 1];
    axial += Math.sqrt(across);
    central += Math.sqrt(across + local[p + 2] * local[p + 2]);
  }
  axial /= local.length / 3;
  central /= local.length / 3;
  const as = { across: 1, along: 1, axial: 0, central: 0, toFoot: false, isRough: false };
  switch (kind) {
    case 'plane':
      return { ...as, along: 0 };
    case 'slot':
    case 'ellipse':
      return { ...as, along: 0, toFoot: true };
    case 'line':
      return { ...as, across: 0 };
    case 'circle':
      return { ...as, along: 0, axial };
    case 'cylinder':
      return { ...as, axial };
    case 'sphere':
      return { ...as, central };
    default:
      return { ...as, isRough: true };
  }
}

/** How many times the points are to be pushed out from the axis or center. */
export function stretchOf({ axial, central }: Laying, u: number, v: number, w: number): number {
  if (axial > 0) return axial / (Math.sqrt(u * u + v * v) || axial);
  if (central > 0) return central / (Math.sqrt(u * u + v * v + w * w) || central);
  return 1;
}

/** How far a residual moves a point to its foot along a shift of the feature, mm: the derivative by the shift is less the normal's part. */
export const alongNormal = (residual: number, derivative: number): number => residual * derivative;

/** Coordinates along u, v, w from `at`, mm. */
export function localPoints(source: PatchSource, sample: Uint32Array): Float64Array {
  const { positions, used, at, axes } = source;
  const local = new Float64Array(3 * sample.length);
  for (let s = 0; s < sample.length; s++) {
    const p = 3 * (used ? used[sample[s]] : sample[s]);
    const x = positions[p] - at[0];
    const y = positions[p + 1] - at[1];
    const z = positions[p + 2] - at[2];
    for (let a = 0; a < 3; a++) local[3 * s + a] = x * axes[a][0] + y * axes[a][1] + z * axes[a][2];
  }
  return local;
}

/** @param sample the numbers of the points */
export function lay(local: Float64Array, laying: Laying, source: PatchSource, sample: Uint32Array): void {
  const row = new Float64Array(source.parameters);
  for (let p = 0; p < local.length; p += 3) {
    if (laying.toFoot) {
      const i = sample[p / 3];
      source.gradient(i, row);
      local[p] += alongNormal(source.residuals[i], row[0]);
      local[p + 1] += alongNormal(source.residuals[i], row[1]);
    }
    const stretch = stretchOf(laying, local[p], local[p + 1], local[p + 2]);
    local[p] *= laying.across * stretch;
    local[p + 1] *= laying.across * stretch;
    local[p + 2] *= laying.along * (laying.central > 0 ? stretch : 1);
  }
}
