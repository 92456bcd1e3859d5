import { FettleError } from '../error.js';
import type { Line, Plane, Point } from '../feature/feature.js';
import { centerOf, type WithCenter } from '../feature/roles.js';
import { add, cross, length, normalize, scale, subtract } from '../math/vec3.js';
import { degreesInWords } from '../text/in-words.js';
import { refusedAngle } from './alignment.js';
import { type Constructed, constructed } from './constructed.js';

/** Closer than this, two points are one: a thousandth of what any scan resolves. */
const onePoint = 1e-6;

/** The point midway between two points or centers. */
export const midpoint = (first: WithCenter, second: WithCenter): Constructed<Point> =>
  constructed({
    kind: 'point',
    position: scale(add(centerOf(first).position, centerOf(second).position), 0.5),
  });

/**
 * The line through two points or centers, from the first to the second; its point is midway.
 *
 * @throws FettleError `coincident` when they are less than 1e-6 mm apart
 */
export function lineThrough(first: WithCenter, second: WithCenter): Constructed<Line> {
  const along = subtract(centerOf(second).position, centerOf(first).position);
  if (length(along) < onePoint)
    throw new FettleError('coincident', 'The two points are one to within 1e-6 mm: no one line runs through them.');
  return constructed({ kind: 'line', point: midpoint(first, second).feature.position, direction: normalize(along) });
}

/**
 * The plane through three points or centers: its normal is right-handed about them in the order given; its point is
 * their middle.
 *
 * @throws FettleError `collinear` when their triangle has an angle under 0.01°, `coincident` when two are one
 */
export function planeThrough(first: WithCenter, second: WithCenter, third: WithCenter): Constructed<Plane> {
  const [a, b, c] = [first, second, third].map((f) => centerOf(f).position) as [
    Point['position'],
    Point['position'],
    Point['position'],
  ];
  const sides = [subtract(b, a), subtract(c, b), subtract(a, c)] as const;
  for (const side of sides)
    if (length(side) < onePoint)
      throw new FettleError(
        'coincident',
        'Two of the three points are one to within 1e-6 mm: no one plane runs through them.',
      );
  const normal = cross(sides[0], sides[1]);
  const [longest, next] = sides.map(length).sort((p, q) => q - p) as [number, number, number];
  const smallest = Math.asin(Math.min(1, length(normal) / (longest * next)));
  if (smallest < refusedAngle)
    throw new FettleError(
      'collinear',
      `The three points lie on a line to within ${degreesInWords(smallest)}: no one plane runs through them.`,
    );
  return constructed({ kind: 'plane', point: scale(add(add(a, b), c), 1 / 3), normal: normalize(normal) });
}
