import type { Circle } from '../../feature/feature.js';
import { perpendiculars } from '../../math/vec3.js';
import type { Points } from '../../scan/scan.js';
import { type Association, awayFromStart, type CriterionOptions, demandPoints } from './association.js';
import { flatCloud } from './flat-cloud.js';
import { ringAbout } from './ring.js';

/**
 * The smallest circle around the points, in the plane of `start`: what a ring gauge finds on a boss (ISO 14405-1 GN).
 * Exact and global.
 *
 * The smallest circle around two or three of the points, by all choices; the farthest point outside joins them, and so
 * on until none is outside. The circle around those few is the smallest around them, so no smaller one holds all
 * (Welzl, "Smallest enclosing disks", 1991, has the argument; passes over all points with the farthest one exchanged
 * need some ten of them). Contacts: two at the ends of a diameter, or three not within half a circle.
 *
 * @throws FettleError `too-few-points`, `bad-trim`
 */
export function minimumCircumscribedCircle(points: Points, options: CriterionOptions<Circle>): Association<Circle> {
  const { start, trim = 0 } = options;
  const axes = [...perpendiculars(start.normal), start.normal] as const;
  const cloud = flatCloud(points, start.center, axes, (x, y) => Math.hypot(x, y), trim, { high: true, low: false });
  demandPoints(cloud.count, 2, 'A minimum circumscribed circle');
  const { xy } = cloud;
  const far = ringAbout(xy, 0, 0).outermost;
  let disk = smallestAround(xy, [far, ringAbout(xy, xy[2 * far], xy[2 * far + 1]).outermost]);
  let ring = ringAbout(xy, disk.x, disk.y);
  let passes = 3;
  while (ring.outer > disk.radius * (1 + 4 * Number.EPSILON) && passes < 1000) {
    const larger = smallestAround(xy, [...disk.on, ring.outermost]);
    if (larger.radius <= disk.radius) break;
    disk = larger;
    ring = ringAbout(xy, disk.x, disk.y);
    passes++;
  }
  return {
    feature: Object.freeze({
      kind: 'circle',
      center: cloud.inSpace(disk.x, disk.y),
      normal: start.normal,
      radius: ring.outer,
    }),
    form: ring.outer - ring.inner,
    contacts: disk.on.map((i) => ({ index: cloud.indexOf(i), side: 1 })),
    trim,
    trimmed: cloud.trimmed,
    optimality: {
      scope: 'global',
      how: 'the circle is the smallest around its contacts, and no point lies outside',
      gap: Math.max(0, ring.outer - disk.radius),
    },
    iterations: passes,
    warnings: awayFromStart('The minimum circumscribed circle', Math.hypot(disk.x, disk.y), start.radius),
  };
}

interface Disk {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
  /** Places of the points on its rim. */
  readonly on: readonly number[];
}

/** The smallest circle around at most four points. */
function smallestAround(xy: Float64Array, places: readonly number[]): Disk {
  let best: Disk | undefined;
  const consider = (disk: Disk) => {
    if (best && disk.radius >= best.radius) return;
    const reach = disk.radius * (1 + 1e-14);
    if (places.every((i) => Math.hypot(xy[2 * i] - disk.x, xy[2 * i + 1] - disk.y) <= reach || disk.on.includes(i)))
      best = disk;
  };
  for (let a = 0; a < places.length; a++)
    for (let b = a + 1; b < places.length; b++) {
      consider(onDiameter(xy, places[a], places[b]));
      for (let c = b + 1; c < places.length; c++) consider(through(xy, places[a], places[b], places[c]));
    }
  return best ?? onDiameter(xy, places[0], places[1]);
}

function onDiameter(xy: Float64Array, i: number, j: number): Disk {
  const x = (xy[2 * i] + xy[2 * j]) / 2;
  const y = (xy[2 * i + 1] + xy[2 * j + 1]) / 2;
  return { x, y, radius: Math.hypot(xy[2 * i] - x, xy[2 * i + 1] - y), on: [i, j] };
}

/** Radius NaN for three points on a line: it is never the smallest. */
function through(xy: Float64Array, i: number, j: number, k: number): Disk {
  const ax = xy[2 * j] - xy[2 * i];
  const ay = xy[2 * j + 1] - xy[2 * i + 1];
  const bx = xy[2 * k] - xy[2 * i];
  const by = xy[2 * k + 1] - xy[2 * i + 1];
  const twice = 2 * (ax * by - ay * bx);
  const aa = ax * ax + ay * ay;
  const bb = bx * bx + by * by;
  const x = (by * aa - ay * bb) / twice;
  const y = (ax * bb - bx * aa) / twice;
  return { x: xy[2 * i] + x, y: xy[2 * i + 1] + y, radius: Math.hypot(x, y), on: [i, j, k] };
}
