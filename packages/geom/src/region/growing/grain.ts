import type { Vec3 } from '../../math/vec3.js';
import { normalTilt, type Rounding, reach } from './normal-tilt.js';
import type { Turning } from './smoothing.js';
import { isRounded, valueStep } from './value-step.js';

/** How coarse a scan is about a place. */
export interface Grain {
  /** Over which normals are to be averaged, mm. */
  readonly radius: number;
  /** How far such a normal may be tilted, radians, one standard deviation about one axis; 0 where too few points tell. */
  readonly tilt: number;
  /** What coordinates are rounded to across the surface, mm; 0 where they are not. */
  readonly step: number;
}

/** Radii tried, each this many times the one before, up to so many spacings. */
const wider = 1.3;
const widest = 80;
/** The most points looked at of a patch. */
const most = 4000;

/** The share of the turn overall that a normal may be tilted by. White noise is allowed a tenth (`smoothingRadius`); more shows another kind. */
const allowed = 1 / 6;

/** A patch that is told the points no farther than a radius from its place. */
export interface Patch {
  readonly positions: Float64Array;
  readonly place: Vec3;
  within(radius: number): ArrayLike<number>;
}

/**
 * The radius over which noise that neighbors share and rounded coordinates do not decide normals either: the first, from the one that
 * white noise asks for on, whose normal is tilted by no more than a sixth of the turn overall; where none is, the one that is tilted least.
 * Of a depth camera's scan with steps of 12 mm at 4.5 mm spacing, where white noise asks for 20 mm, it is 60 to 150 mm.
 */
export function grainAt(patch: Patch, least: number, spacing: number, { turnTotal }: Turning): Grain {
  const rounding = roundingAt(patch, least, widest * spacing);
  const step = Math.max(0, ...rounding.map((one) => one.step));
  const limit = allowed * Math.min(turnTotal, Math.PI / 2);
  let best: Grain | undefined;
  for (let radius = least; radius <= Math.max(least, widest * spacing); radius *= wider) {
    const tilt = normalTilt(patch.positions, thinned(patch.within(reach * radius)), patch.place, radius, rounding);
    if (tilt === undefined) {
      if (radius === least) continue;
      break;
    }
    if (best === undefined || tilt < best.tilt) best = { radius, tilt, step };
    if (tilt <= limit) return best;
  }
  return best ?? { radius: least, tilt: 0, step };
}

/** How far a normal averaged over a radius may be tilted about a place, radians; undefined where too few points tell. */
export function tiltAt(patch: Patch, radius: number): number | undefined {
  const points = thinned(patch.within(reach * radius));
  return normalTilt(patch.positions, points, patch.place, radius, roundingAt(patch, radius, 2 * reach * radius));
}

/** The axes along which coordinates about a place are rounded, with their steps. */
function roundingAt(patch: Patch, least: number, most: number): Rounding[] {
  const found: Rounding[] = [];
  const near = thinned(patch.within(2 * least));
  for (let axis = 0; axis < 3; axis++) {
    if (!isRounded(patch.positions, near, axis)) continue;
    for (let radius = least; radius <= most; radius *= 1.5) {
      const step = valueStep(patch.positions, thinned(patch.within(radius)), axis);
      if (step === undefined) continue;
      found.push({ axis, step });
      break;
    }
  }
  return found;
}

/** Evenly strided, so that large patches cost no more. */
function thinned(points: ArrayLike<number>): ArrayLike<number> {
  if (points.length <= most) return points;
  const stride = points.length / most;
  return Uint32Array.from({ length: most }, (_, i) => points[Math.floor(i * stride)]);
}
