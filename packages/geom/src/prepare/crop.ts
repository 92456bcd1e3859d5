import { FettleError } from '../error.js';
import { type Frame, scanFrame } from '../math/frame.js';
import { dot, length, type Vec3 } from '../math/vec3.js';
import { boxRegion } from '../region/box.js';
import { emptyRegion } from '../region/empty.js';
import { type Ball, sphereRegion } from '../region/sphere.js';
import type { Bounds, Scan } from '../scan/scan.js';
import { keepMarked, type Prepared } from './prepared.js';

/** All points on the side of a plane its normal points to, and those on it. */
export interface HalfSpace {
  readonly point: Vec3;
  /** Of any length but 0. */
  readonly normal: Vec3;
}

/** What to crop to. Points on its boundary are inside. */
export type CropShape = { readonly box: Bounds } | { readonly sphere: Ball } | { readonly halfSpace: HalfSpace };

export interface CropOptions {
  /** Takes away what is inside instead of what is outside. Default false. */
  readonly drop?: boolean;
  /** The shape's coordinates are in it. Default: scan axes. */
  readonly frame?: Frame;
}

/**
 * Keeps the points inside a box, a sphere or a half-space, or with `drop` those outside, and the triangles that have all
 * their corners left.
 *
 * @throws FettleError `region-empty` if no point is inside, saying how far off the nearest is (unless inside is to go);
 * `prepare-empty` if all are inside and are to go; `region-box`, `region-sphere`, `crop-half-space` for a shape that is none
 */
export function crop(scan: Scan, shape: CropShape, { drop = false, frame = scanFrame }: CropOptions = {}): Prepared {
  const marks = new Uint8Array(scan.positions.length / 3).fill(drop ? 1 : 0);
  for (const p of inside(scan, shape, frame, drop)) marks[p] = drop ? 0 : 1;
  return keepMarked(scan, 'the crop', marks);
}

function inside(scan: Scan, shape: CropShape, frame: Frame, maybeNone: boolean): Uint32Array {
  const { select: _, ...all } = scan;
  try {
    if ('box' in shape) return boxRegion(all, shape.box, frame);
    if ('sphere' in shape) return sphereRegion(all, shape.sphere, frame);
    return halfSpaceRegion(all, shape.halfSpace, frame);
  } catch (error) {
    if (maybeNone && error instanceof FettleError && error.code === 'region-empty') return new Uint32Array();
    throw error;
  }
}

function halfSpaceRegion(scan: Scan, { point, normal }: HalfSpace, frame: Frame): Uint32Array {
  const size = length(normal);
  if (!(size > 0) || !Number.isFinite(size + length(point)))
    throw new FettleError(
      'crop-half-space',
      `A half-space from (${point.join(', ')}) along (${normal.join(', ')}) has no side. Give a normal that is not 0.`,
    );
  const { x, y, z } = frame;
  const along = (k: 0 | 1 | 2) => (normal[0] * x[k] + normal[1] * y[k] + normal[2] * z[k]) / size;
  const n: Vec3 = [along(0), along(1), along(2)];
  const start = dot(n, frame.toScan(point));
  const { positions } = scan;
  const found = new Uint32Array(positions.length / 3);
  let kept = 0;
  let most = -Infinity;
  let nearest = 0;
  for (let p = 0; p < found.length; p++) {
    const off = n[0] * positions[3 * p] + n[1] * positions[3 * p + 1] + n[2] * positions[3 * p + 2] - start;
    if (off >= 0) found[kept++] = p;
    else if (off > most) {
      most = off;
      nearest = p;
    }
  }
  if (kept === 0) throw emptyRegion(scan, 'the half-space', nearest, -most);
  return found.slice(0, kept);
}
