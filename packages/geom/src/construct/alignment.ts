import { cross, dot, length, type Vec3 } from '../math/vec3.js';

/**
 * How nearly parallel is too nearly. Where two planes, or a line and a plane, meet at an angle θ, whatever is uncertain
 * about their place comes out 1/sin θ times larger in the place where they meet.
 *
 * - Under 0.01° (5,700 times) there is no such place: a directional error of 0.02 mm over a face 100 mm wide is 0.01°,
 *   so no scan can tell such surfaces from parallel ones. A request for their meeting is refused.
 * - Under 1° (57 times) the place exists and comes with a warning.
 *
 * Arithmetic alone would allow far less: at 0.01° and coordinates of 10 m, rounding is still below 1e-7 mm.
 */
export const refusedAngle = (0.01 * Math.PI) / 180;
export const doubtfulAngle = (1 * Math.PI) / 180;

/**
 * Where a distance is asked between things that ought to be parallel: above this the distance depends noticeably on
 * where it is taken (0.35 mm a 100 mm), and a warning says so.
 */
export const slopingAngle = (0.2 * Math.PI) / 180;
/** Above this they are not parallel by anyone's word, and a distance between them is refused. */
export const notParallelAngle = (15 * Math.PI) / 180;

/** Angle between two directions whose signs do not matter, radians in [0, π/2]; exact near 0 and near π/2. */
export const acuteAngle = (a: Vec3, b: Vec3): number => Math.atan2(length(cross(a, b)), Math.abs(dot(a, b)));
