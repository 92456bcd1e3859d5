import { FettleError } from '../../error.js';
import type { Line, Plane } from '../../feature/feature.js';
import { addScaled, cross, dot, length, negate, normalize, subtract } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type Association, type CriterionOptions, demandPoints } from './association.js';
import { axisByExtremes } from './axis.js';
import { centroidOf } from './cloud.js';
import { flatCloud } from './flat-cloud.js';
import { narrowestStrip } from './strip.js';

export interface LineCriterionOptions extends CriterionOptions<Line> {
  /** Points are seen along this plane's normal, and the zone is a strip in it. Absent: the zone is a cylinder. */
  readonly plane?: Plane;
}

/**
 * The line in the middle of the narrowest zone that holds the points (minimum zone, ISO 1101; straightness by ISO
 * 12780).
 *
 * In a plane: a strip, exact and global ({@link narrowestStrip}); two contacts on one side, one between them on the
 * other. In space: the axis of the smallest cylinder around the points, searched from the least-squares line ({@link
 * exchange}), a local minimum; `form` is the diameter of that cylinder, and all contacts are on side 1.
 *
 * @throws FettleError `too-few-points`, `points-coincide`, `bad-trim`, `line-across-plane` when the start stands square
 * to the plane
 */
export function minimumZoneLine(points: Points, options: LineCriterionOptions): Association<Line> {
  return options.plane ? inPlane(points, options, options.plane) : inSpace(points, options);
}

function inPlane(points: Points, { start, trim = 0 }: CriterionOptions<Line>, plane: Plane): Association<Line> {
  const along = addScaled(start.direction, plane.normal, -dot(start.direction, plane.normal));
  if (!(length(along) > 1e-9))
    throw new FettleError('line-across-plane', 'The line stands square to the plane it is to lie in.');
  const u = normalize(along);
  const v = cross(plane.normal, u);
  const centroid = centroidOf(points);
  const origin = addScaled(centroid, plane.normal, -dot(subtract(centroid, plane.point), plane.normal));
  const offset = dot(subtract(start.point, origin), v);
  const cloud = flatCloud(points, origin, [u, v, plane.normal], (_x, y) => y - offset, trim, { high: true, low: true });
  demandPoints(cloud.count, 3, 'A minimum-zone line');
  const strip = narrowestStrip(cloud.xy);
  if (strip === undefined) throw coincident();
  const middle = (strip.low + strip.high) / 2;
  const [nx, ny] = strip.normal;
  // The side of positive residuals is the one `v` points to.
  const up = ny < 0 ? -1 : 1;
  const direction = subtract(cloud.inSpace(ny, -nx), origin);
  return {
    feature: Object.freeze({
      kind: 'line',
      point: cloud.inSpace(middle * nx, middle * ny),
      direction: normalize(dot(direction, u) < 0 ? negate(direction) : direction),
    }),
    form: strip.high - strip.low,
    contacts: [
      ...strip.upper.map((i) => ({ index: cloud.indexOf(i), side: up }) as const),
      ...strip.lower.map((i) => ({ index: cloud.indexOf(i), side: -up as 1 | -1 }) as const),
    ],
    trim,
    trimmed: cloud.trimmed,
    optimality: {
      scope: 'global',
      how: 'the nearest edge of a polygon inside the difference body bounds every strip from below',
      gap: Math.max(0, strip.high - strip.low - strip.bound),
    },
    iterations: strip.passes,
    warnings: [],
  };
}

function inSpace(points: Points, options: CriterionOptions<Line>): Association<Line> {
  const { start } = options;
  const sides = { high: true, low: false };
  let reach = 0;
  const { positions, select } = points;
  for (let i = 0; i < (select?.length ?? positions.length / 3); i++) {
    const p = 3 * (select ? select[i] : i);
    const away = subtract([positions[p], positions[p + 1], positions[p + 2]], start.point);
    reach = Math.max(reach, length(away));
  }
  if (reach === 0) throw coincident();
  const found = axisByExtremes(points, options, sides, reach, 3, 'A minimum-zone line');
  const { point, direction, outer, inner: _inner, moved: _moved, ...rest } = found;
  return { feature: Object.freeze({ kind: 'line', point, direction }), form: 2 * outer, ...rest, warnings: [] };
}

const coincident = (): FettleError =>
  new FettleError('points-coincide', 'The points all lie at one place: any line through it is as good as another.');
