import { FettleError } from '../error.js';
import { addScaled, dot, isFiniteVec3, length, normalize, perpendiculars, type Vec3 } from '../math/vec3.js';
import type { Scan } from '../scan/scan.js';
import { facesOf } from './facing.js';
import { seenAlong } from './seen.js';

export interface Outline {
  /** Its corners in scan axes, three or more. How far they lie along the view does not matter. */
  readonly polygon: readonly Vec3[];
  /** The way the eye looks, any length. */
  readonly along: Vec3;
  /** Only what the eye sees: points that face it and that the scan does not hide. Default false: all the way through. */
  readonly seen?: boolean;
}

/**
 * The (selected) points inside an outline drawn over the scan as seen along a direction: indices in ascending order. An outline that crosses
 * itself holds what lies inside by the even-odd rule.
 *
 * @throws FettleError `region-outline` for an outline of fewer than three corners or a direction without length; `region-empty` if no
 * point is inside.
 */
export function outlineRegion(scan: Scan, { polygon, along, seen = false }: Outline): Uint32Array {
  if (polygon.length < 3 || !polygon.every(isFiniteVec3))
    throw new FettleError(
      'region-outline',
      `An outline of ${polygon.length} corners has no inside. Give three corners or more, of three numbers each.`,
    );
  if (!isFiniteVec3(along) || length(along) === 0)
    throw new FettleError(
      'region-outline',
      `(${along.join(', ')}) is no direction to look along. Give one of some length.`,
    );
  const w = normalize(along);
  const [u, v] = perpendiculars(w);
  const xs = polygon.map((p) => dot(p, u));
  const ys = polygon.map((p) => dot(p, v));
  const box = {
    left: Math.min(...xs),
    right: Math.max(...xs),
    low: Math.min(...ys),
    high: Math.max(...ys),
  };
  const { positions } = scan;
  const select = scan.select?.slice().sort();
  const count = select ? select.length : positions.length / 3;
  const inside: number[] = [];
  for (let i = 0; i < count; i++) {
    const p = select ? select[i]! : i;
    const x = positions[3 * p]! * u[0] + positions[3 * p + 1]! * u[1] + positions[3 * p + 2]! * u[2];
    if (x < box.left || x > box.right) continue;
    const y = positions[3 * p]! * v[0] + positions[3 * p + 1]! * v[1] + positions[3 * p + 2]! * v[2];
    if (y < box.low || y > box.high) continue;
    if (isInside(xs, ys, x, y)) inside.push(p);
  }
  const name = (scan as { name?: string }).name ?? 'points';
  if (inside.length === 0)
    throw new FettleError(
      'region-empty',
      `${name}: the outline holds no point: seen along (${w.map((c) => c.toFixed(3)).join(', ')}) none lies inside. Draw it over the scan.`,
    );
  if (!seen) return Uint32Array.from(inside);
  const facing = facesOf(scan, addScaled([0, 0, 0], w, -1), 'region-outline');
  const isSeen = seenAlong(scan, { u, v, w }, box);
  const visible = inside.filter((p) => facing(p) && isSeen(p));
  if (visible.length === 0)
    throw new FettleError(
      'region-empty',
      `${name}: none of the ${inside.length} points inside the outline can be seen from there. Turn the scan, or choose all the way through.`,
    );
  return Uint32Array.from(visible);
}

/** Even-odd rule (Shimrat, Comm. ACM 5 (1962) 434). */
function isInside(xs: readonly number[], ys: readonly number[], x: number, y: number): boolean {
  let inside = false;
  for (let i = 0, j = xs.length - 1; i < xs.length; j = i++) {
    if (ys[i]! > y !== ys[j]! > y && x < ((xs[j]! - xs[i]!) * (y - ys[i]!)) / (ys[j]! - ys[i]!) + xs[i]!)
      inside = !inside;
  }
  return inside;
}
