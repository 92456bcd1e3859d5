import { type Vec3, vec3 } from '@fettle/geom';
import type { SectionView } from '../worker/protocol.js';
import type { DrawnCurve } from './curve-pick.js';
import type { DrawingAxes } from './drawing-axes.js';

/** A section laid flat. */
export interface DrawnSection {
  readonly axes: DrawingAxes;
  readonly curves: readonly DrawnCurve[];
  /** Of a cloud: its points near the plane, xy xy …, mm. */
  readonly dots: Float64Array | undefined;
  /** Points of curves and dots together. */
  readonly count: number;
  /** A place of the sheet in scan axes, mm. */
  inSpace(at: readonly [number, number]): Vec3;
}

export function drawnSection(section: SectionView, axes: DrawingAxes): DrawnSection {
  const curves = section.polylines.map(({ closed, points }) => ({ closed, points: flat(axes, points) }));
  const dots = section.cloud && flat(axes, section.cloud);
  // How far the section's plane lies from the origin of its axes.
  const off = vec3.dot(section.normal, vec3.subtract(section.origin, axes.origin));
  const count = curves.reduce((sum, { points }) => sum + points.length / 2, (dots?.length ?? 0) / 2);
  return {
    axes,
    curves,
    dots,
    count,
    inSpace: ([x, y]) =>
      vec3.addScaled(vec3.addScaled(vec3.addScaled(axes.origin, axes.right, x), axes.up, y), section.normal, off),
  };
}

/** xyz xyz … as xy xy … of the sheet. */
export function flat(axes: DrawingAxes, points: ArrayLike<number>): Float64Array {
  const out = new Float64Array((2 * points.length) / 3);
  const { origin, right, up } = axes;
  for (let i = 0, o = 0; i < points.length; i += 3, o += 2) {
    const [x, y, z] = [points[i]! - origin[0], points[i + 1]! - origin[1], points[i + 2]! - origin[2]];
    out[o] = x * right[0] + y * right[1] + z * right[2];
    out[o + 1] = x * up[0] + y * up[1] + z * up[2];
  }
  return out;
}
