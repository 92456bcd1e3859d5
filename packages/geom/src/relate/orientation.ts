import { acuteAngle } from '../construct/alignment.js';
import { FettleError } from '../error.js';
import { axisOf } from '../feature/roles.js';
import { dot, length, scale, subtract, type Vec3 } from '../math/vec3.js';
import { degreesInWords, withArticle } from '../text/in-words.js';
import type { Toleranced } from './toleranced.js';
import {
  type Axis,
  across,
  type Datum,
  type Surface,
  type Zone,
  type ZoneOptions,
  zoneAcross,
  zoneAlong,
} from './zone.js';

/** Past this from parallel or square, the wrong thing is asked. */
const wrongWay = Math.PI / 4;

const directionOf = (datum: Datum): Vec3 => (datum.kind === 'plane' ? datum.normal : axisOf(datum).direction);

/** The feature, if it is nearly enough parallel or square to the datum for the word to make sense. */
function demand(t: Toleranced, datum: Datum, word: string, parallelism: boolean): Surface | Axis {
  if (t.kind === 'center')
    throw new FettleError('wrong-kind', `A center has no direction and no ${word}. Ask it of a face or an axis.`);
  const own = t.kind === 'surface' ? t.plane.normal : subtract(t.to, t.from);
  const between = acuteAngle(own, directionOf(datum));
  // A normal and an axis are parallel when the face and the axis are square.
  const sameWay = (t.kind === 'surface') === (datum.kind === 'plane') ? parallelism : !parallelism;
  const off = sameWay ? between : Math.PI / 2 - between;
  if (off > wrongWay)
    throw new FettleError(
      'wrong-way',
      `The ${t.kind} is ${degreesInWords(off)} off, more nearly ${parallelism ? 'square' : 'parallel'} to ${withArticle(datum.kind)} ` +
        `such as its datum: it has no ${word} to speak of.`,
    );
  return t;
}

/** Of an axis: a width along the datum's direction, or a diameter square to it. */
const ofAxis = ({ from, to }: Axis, direction: Vec3, isWidth: boolean): Zone => {
  const span = subtract(to, from);
  const seen = isWidth ? scale(direction, dot(span, direction)) : across(span, direction);
  const value = length(seen);
  const along = value > 0 ? scale(seen, 1 / value) : direction;
  return {
    value,
    along,
    deciding: [
      { place: to, weight: 1 },
      { place: from, weight: -1 },
    ],
  };
};

/**
 * Parallelism (ISO 1101): the zone parallel to the datum that holds the feature.
 *
 * - face to plane, axis to plane: between two planes parallel to the datum;
 * - face to axis: between the two nearest planes parallel to it, turned about it as need be;
 * - axis to axis: the diameter of a cylinder parallel to the datum.
 *
 * @throws FettleError `wrong-kind` for a center, `wrong-way` when they are more nearly square
 */
export function parallelism(t: Toleranced, datum: Datum, options: ZoneOptions = {}): Zone {
  const held = demand(t, datum, 'parallelism', true);
  const direction = directionOf(datum);
  if (held.kind === 'axis') return ofAxis(held, direction, datum.kind === 'plane');
  return datum.kind === 'plane' ? zoneAcross(held, direction, options) : zoneAlong(held, direction, options);
}

/**
 * Perpendicularity (ISO 1101): the zone square to the datum that holds the feature.
 *
 * - face to plane: between the two nearest parallel planes square to the datum, turned as need be;
 * - face to axis: between two planes square to it;
 * - axis to plane: the diameter of a cylinder square to the datum;
 * - axis to axis: between two planes square to the datum.
 *
 * @throws FettleError `wrong-kind` for a center, `wrong-way` when they are more nearly parallel
 */
export function perpendicularity(t: Toleranced, datum: Datum, options: ZoneOptions = {}): Zone {
  const held = demand(t, datum, 'perpendicularity', false);
  const direction = directionOf(datum);
  if (held.kind === 'axis') return ofAxis(held, direction, datum.kind !== 'plane');
  return datum.kind === 'plane' ? zoneAlong(held, direction, options) : zoneAcross(held, direction, options);
}
