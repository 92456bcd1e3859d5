import { type Vec3, vec3 } from '@fettle/geom';

const { addScaled, cross, dot, normalize, subtract } = vec3;

/**
 * Where a parallel projection looks from. Plain numbers: all moves are functions from one rig to the next. Lengths in
 * mm in the axes of the scan, pixels are CSS pixels from the top left of the picture.
 */
export interface Rig {
  /** What stands in the middle of the picture. */
  readonly center: Vec3;
  readonly right: Vec3;
  readonly up: Vec3;
  /** mm a pixel. */
  readonly scale: number;
  readonly width: number;
  readonly height: number;
}

/** Toward the eye. */
export const backOf = ({ right, up }: Rig): Vec3 => cross(right, up);

/** The place on the plane through the center that a pixel shows. */
export function placeAt(rig: Rig, x: number, y: number): Vec3 {
  const across = (x - rig.width / 2) * rig.scale;
  const down = (y - rig.height / 2) * rig.scale;
  return addScaled(addScaled(rig.center, rig.right, across), rig.up, -down);
}

/** The pixel that shows a place. */
export function pixelOf(rig: Rig, place: Vec3): readonly [x: number, y: number] {
  const d = subtract(place, rig.center);
  return [rig.width / 2 + dot(d, rig.right) / rig.scale, rig.height / 2 - dot(d, rig.up) / rig.scale];
}

/** Turned about an axis by an angle (Rodrigues' formula). */
function turned(v: Vec3, axis: Vec3, angle: number): Vec3 {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const along = dot(v, axis) * (1 - c);
  const side = cross(axis, v);
  return [
    v[0] * c + side[0] * s + axis[0] * along,
    v[1] * c + side[1] * s + axis[1] * along,
    v[2] * c + side[2] * s + axis[2] * along,
  ];
}

/** The rig with its axes made unit length and square again, since rounding adds up over many moves. */
function squared(rig: Rig): Rig {
  const right = normalize(rig.right);
  const up = normalize(addScaled(rig.up, right, -dot(rig.up, right)));
  return { ...rig, right, up };
}

/** Turned as if the scan were dragged by so many pixels, a place staying where it is in the picture. */
export function orbited(rig: Rig, about: Vec3, dx: number, dy: number): Rig {
  const perPixel = Math.PI / Math.max(300, Math.min(rig.width, rig.height));
  const apply = (v: Vec3): Vec3 => turned(turned(v, rig.up, -dx * perPixel), rig.right, -dy * perPixel);
  const off = apply(subtract(rig.center, about));
  return squared({ ...rig, center: addScaled(about, off, 1), right: apply(rig.right), up: apply(rig.up) });
}

/** Shifted so that the scan follows the pointer. */
export const panned = (rig: Rig, dx: number, dy: number): Rig => ({
  ...rig,
  center: addScaled(addScaled(rig.center, rig.right, -dx * rig.scale), rig.up, dy * rig.scale),
});

/** Drawn larger by a factor, the place at a pixel staying there. */
export function zoomed(rig: Rig, factor: number, x = rig.width / 2, y = rig.height / 2): Rig {
  const scale = Math.min(1e4, Math.max(1e-5, rig.scale / factor));
  const before = placeAt(rig, x, y);
  const after = placeAt({ ...rig, scale }, x, y);
  return { ...rig, scale, center: addScaled(rig.center, subtract(before, after), 1) };
}

/** Places looked at to show all of a scan. */
const LOOKED_AT = 6000;
/** Of the picture, left free around what is shown. */
const MARGIN = 0.07;

/**
 * Shows all of some places, with a margin.
 *
 * @param places xyz xyz … from `origin`, mm
 */
export function fitted(rig: Rig, places: ArrayLike<number>, origin: Vec3): Rig {
  const { right, up, width, height } = rig;
  const back = backOf(rig);
  const count = places.length / 3;
  const step = Math.max(1, Math.floor(count / LOOKED_AT));
  const low = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const high = low.map((v) => -v);
  const axes = [right, up, back];
  for (let p = 0; p < count; p += step) {
    for (let k = 0; k < 3; k++) {
      const axis = axes[k]!;
      const v = places[3 * p]! * axis[0] + places[3 * p + 1]! * axis[1] + places[3 * p + 2]! * axis[2];
      if (v < low[k]!) low[k] = v;
      if (v > high[k]!) high[k] = v;
    }
  }
  if (count < 1) return rig;
  const [x, y, z] = low.map((v, k) => (v + high[k]!) / 2) as [number, number, number];
  const center = addScaled(addScaled(addScaled(origin, right, x), up, y), back, z);
  const room = 1 - 2 * MARGIN;
  const scale = Math.max((high[0]! - low[0]!) / (room * width), (high[1]! - low[1]!) / (room * height));
  return { ...rig, center, scale: scale > 0 ? scale : rig.scale };
}

/** Looks against a direction, with another pointing up in the picture as far as it can. */
export function lookingFrom(rig: Rig, toEye: Vec3, up: Vec3): Rig {
  const back = normalize(toEye);
  const lies = Math.abs(dot(up, back)) > 0.999;
  const hint: Vec3 = lies ? (Math.abs(back[2]) < 0.9 ? [0, 0, 1] : [0, 1, 0]) : up;
  const right = normalize(cross(hint, back));
  return squared({ ...rig, right, up: cross(back, right) });
}

/** From an eye in front of the picture straight through a pixel; `away` is how far back the eye stands. */
export function rayAt(rig: Rig, x: number, y: number, away: number): { readonly from: Vec3; readonly direction: Vec3 } {
  const back = backOf(rig);
  const direction: Vec3 = [-back[0], -back[1], -back[2]];
  return { from: addScaled(placeAt(rig, x, y), back, away), direction };
}

/**
 * The part of a ray behind a plane that cuts away what its normal points to; the ray itself where it starts behind it.
 * Undefined where all of the ray is cut away.
 */
export function behind<R extends { readonly from: Vec3; readonly direction: Vec3 }>(
  ray: R,
  { point, normal }: { readonly point: Vec3; readonly normal: Vec3 },
): R | undefined {
  const before = dot(subtract(ray.from, point), normal);
  if (before <= 0) return ray;
  const toward = -dot(ray.direction, normal);
  return toward > 1e-9 ? { ...ray, from: addScaled(ray.from, ray.direction, before / toward) } : undefined;
}
