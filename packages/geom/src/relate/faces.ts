import { acuteAngle, notParallelAngle } from '../construct/alignment.js';
import { FettleError } from '../error.js';
import type { Plane } from '../feature/feature.js';
import { minimumZonePlane } from '../fit/extremes/plane.js';
import { fitPlane } from '../fit/shapes/plane.js';
import { add, addScaled, dot, normalize, perpendiculars, scale, subtract, type Vec3 } from '../math/vec3.js';
import type { Points } from '../scan/scan.js';
import { degreesInWords } from '../text/in-words.js';
import { holding } from './holding.js';
import type { Surface, Zone, ZoneOptions } from './zone.js';

/** The points of two faces as one set. */
export function bothOf(a: Points, b: Points): Points {
  const count = (points: Points) => points.select?.length ?? points.positions.length / 3;
  const positions = new Float64Array(3 * (count(a) + count(b)));
  let n = 0;
  for (const points of [a, b])
    for (let i = 0; i < count(points); i++) {
      const p = 3 * (points.select ? points.select[i] : i);
      positions[n++] = points.positions[p];
      positions[n++] = points.positions[p + 1];
      positions[n++] = points.positions[p + 2];
    }
  return { positions };
}

/**
 * Coplanarity of two faces (ISO 1101: flatness in a combined zone, CZ): between the two nearest parallel planes that hold both.
 */
export function coplanarity(first: Surface, second: Surface, { trim }: ZoneOptions = {}): Zone {
  const points = bothOf(first.points, second.points);
  const start = fitPlane(points).feature;
  const { feature, form, contacts } = minimumZonePlane(points, { start, ...(trim !== undefined && { trim }) });
  const border = first.points.select?.length ?? first.points.positions.length / 3;
  const places = holding(contacts, points, perpendiculars(feature.normal));
  return {
    value: form,
    along: feature.normal,
    deciding: places.map((d, i) => ({ ...d, face: contacts[i].index < border ? 0 : 1 })),
  };
}

/** The step from one face to another. */
export interface FaceStep {
  /** How far the second lies above the first, mm: positive on the side the first's normal points to. */
  readonly height: number;
  /** Where it was taken: on each face, midway between their middles. */
  readonly from: Vec3;
  readonly to: Vec3;
  /** Between the faces, radians in [0, π/2]. */
  readonly angle: number;
}

/**
 * The step from one face to another beside it, taken square to both halfway between their middles, where faces that lean a
 * little are compared fairly.
 *
 * @throws FettleError `not-parallel` past 15°
 */
export function faceStep({ plane: a }: Pick<Surface, 'plane'>, { plane: b }: Pick<Surface, 'plane'>): FaceStep {
  const angle = acuteAngle(a.normal, b.normal);
  if (angle > notParallelAngle)
    throw new FettleError(
      'not-parallel',
      `The two faces are ${degreesInWords(angle)} apart: there is no step between them.`,
    );
  const normal = normalize(add(a.normal, scale(b.normal, dot(a.normal, b.normal) < 0 ? -1 : 1)));
  const middle = scale(add(a.point, b.point), 0.5);
  const onto = ({ point, normal: n }: Plane) =>
    addScaled(middle, normal, dot(n, subtract(point, middle)) / dot(n, normal));
  const from = onto(a);
  const to = onto(b);
  return { height: dot(normal, subtract(to, from)), from, to, angle };
}
