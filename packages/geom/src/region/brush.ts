import { FettleError } from '../error.js';
import { dot, isFiniteVec3, length, subtract, type Vec3 } from '../math/vec3.js';
import type { Scan } from '../scan/scan.js';
import { emptyRegion } from './empty.js';
import { facesOf } from './facing.js';

export interface Stroke {
  /** Where the brush went, in scan axes, one place or more. */
  readonly stroke: readonly Vec3[];
  /** Of the brush, mm. */
  readonly radius: number;
  /** Toward the eye: only points whose surface faces it, so that a thin wall is not brushed from both sides. Any length. */
  readonly facing?: Vec3;
}

/**
 * The (selected) points no farther than the radius from the way of a brush: indices in ascending order. Which way a point faces its normals tell
 * (of the triangles, else those of the scan); points that have none count as facing.
 *
 * @throws FettleError `region-brush` for a stroke without a place, a radius that is not above 0, or a direction without length;
 * `region-empty` if no point is that near, saying how far off the nearest is.
 */
export function brushRegion(scan: Scan, { stroke, radius, facing }: Stroke): Uint32Array {
  if (stroke.length === 0 || !stroke.every(isFiniteVec3) || !(radius > 0))
    throw new FettleError(
      'region-brush',
      `A brush of ${radius} mm over ${stroke.length} places chooses nothing. Give a radius above 0, and places of three numbers.`,
    );
  const isFacing = facing && facesOf(scan, facing, 'region-brush');
  const { positions } = scan;
  const low = [0, 1, 2].map((k) => Math.min(...stroke.map((p) => p[k]!)) - radius);
  const high = [0, 1, 2].map((k) => Math.max(...stroke.map((p) => p[k]!)) + radius);
  const select = scan.select?.slice().sort();
  const count = select ? select.length : positions.length / 3;
  const found: number[] = [];
  let least = Infinity;
  let nearest = 0;
  for (let i = 0; i < count; i++) {
    const p = select ? select[i]! : i;
    const x = positions[3 * p]!;
    const y = positions[3 * p + 1]!;
    const z = positions[3 * p + 2]!;
    const isNear = x >= low[0]! && x <= high[0]! && y >= low[1]! && y <= high[1]! && z >= low[2]! && z <= high[2]!;
    // Of those far off a few tell how far, for the message.
    if (!isNear && (found.length > 0 || i % 16 !== 0)) continue;
    const off = offStroke([x, y, z], stroke);
    if (off <= radius && (isFacing?.(p) ?? true)) found.push(p);
    else if (off < least) {
      least = off;
      nearest = p;
    }
  }
  if (found.length === 0) throw emptyRegion(scan, 'the brush', nearest, Math.max(0, least - radius));
  return Uint32Array.from(found);
}

/** From a place to the chain of straight pieces, mm. */
function offStroke(p: Vec3, stroke: readonly Vec3[]): number {
  let least = length(subtract(p, stroke[0]!));
  for (let i = 1; i < stroke.length; i++) {
    const along = subtract(stroke[i]!, stroke[i - 1]!);
    const from = subtract(p, stroke[i - 1]!);
    const share = Math.min(1, Math.max(0, dot(from, along) / (dot(along, along) || 1)));
    const off = Math.hypot(from[0] - share * along[0], from[1] - share * along[1], from[2] - share * along[2]);
    if (off < least) least = off;
  }
  return least;
}
