import { derive, type Uncertain } from '../../construct/propagate.js';
import type { Feature } from '../../feature/feature.js';
import { axisOf, centerOf, directionOf, planeOf } from '../../feature/roles.js';
import type { Frame } from '../../math/frame.js';
import { addScaled, dot, subtract, type Vec3 } from '../../math/vec3.js';
import { together } from '../../text/in-words.js';
import { ofFeature } from './doubt.js';
import { type Asked, type Reading, reading, tellingReading } from './reading.js';

/** The place a feature is quoted at: its center or apex, else its own point. */
export function placeOf(feature: Feature): Vec3 {
  switch (feature.kind) {
    case 'point':
      return feature.position;
    case 'plane':
    case 'line':
    case 'cylinder':
      return feature.point;
    case 'cone':
      return feature.apex;
    default:
      return feature.center;
  }
}

const axes = ['x', 'y', 'z'] as const;
type Coordinates = (feature: Feature, frame: Frame) => Vec3;

/** What a row tells of a feature. */
export interface Told {
  readonly readings: readonly Reading[];
  /** Where coordinates are told that could be told anywhere along an axis: `x and z where its axis crosses y = 0`. */
  readonly where?: string;
}

/** Where a feature is: by its center, of a plane by its offset, of an axis where it crosses a plane of the frame. */
export function placeReadings(feature: Uncertain<Feature>, frame: Uncertain<Frame>, asked: Asked): Told {
  const center: Coordinates = (f, to) => to.toFrame(centerOf(f).position);
  switch (feature.value.kind) {
    case 'point': {
      // The origin of its own frame says nothing; of any other point all three coordinates are told.
      const told = coordinates(feature, frame, center, axes, asked);
      return { readings: told.length === 0 ? [] : coordinates(feature, frame, center, axes, allAsked) };
    }
    case 'plane':
      return ofPlane(feature, frame, asked);
    case 'line':
    case 'cylinder':
    case 'cone':
      return ofAxis(feature, frame, asked);
    default:
      return { readings: coordinates(feature, frame, center, axes, asked) };
  }
}

const allAsked: Asked = { x: true, y: true, z: true };

const coordinates = (
  feature: Uncertain<Feature>,
  frame: Uncertain<Frame>,
  place: Coordinates,
  names: readonly (typeof axes)[number][],
  asked: Asked,
): Reading[] =>
  names.flatMap((name) => {
    const coordinate = derive([feature, frame], (f, to) => place(f, to)[axes.indexOf(name)]);
    return tellingReading(name, coordinate, 'mm', asked);
  });

/**
 * How far the plane lies from the frame's origin along its own normal. Its coordinates are those of the middle of the points,
 * which says more of where the scanner looked than of the face: told only where the plan asks for them.
 */
function ofPlane(feature: Uncertain<Feature>, frame: Uncertain<Frame>, asked: Asked): Told {
  const offset = derive([feature, frame], (f, to) => {
    const { point, normal } = planeOf(f);
    return dot(normal, subtract(point, to.origin));
  });
  const middle: Coordinates = (f, to) => to.toFrame(planeOf(f).point);
  const wanted = axes.filter((name) => asked[name] !== undefined);
  return {
    readings: [...tellingReading('offset', offset, 'mm', asked), ...coordinates(feature, frame, middle, wanted, asked)],
  };
}

/**
 * Where an axis crosses the plane of the frame it is most nearly square to, if that is near to where it was seen; else where it crosses
 * a plane parallel to that one, at a round coordinate in its middle. The coordinate along it is told only where the plan asks.
 * Of a cone its diameter there as well: at the face, what a gauge for a countersink tells.
 */
function ofAxis(feature: Uncertain<Feature>, frame: Uncertain<Frame>, asked: Asked): Told {
  const of = feature.value;
  const direction = directionOf(of);
  const tilts = axes.map((name) => Math.abs(dot(direction, frame.value[name])));
  const along = axes[tilts.indexOf(Math.max(...tilts))];
  const level = levelOf(feature, frame.value, along);
  const crossing: Coordinates = (f, to) => to.toFrame(crossingOf(f, to, along, level));
  const across = axes.filter((name) => name !== along || asked[name] !== undefined);
  const found = coordinates(feature, frame, crossing, across, asked);
  const names: string[] = found.map(({ name }) => name).filter((name) => name !== along);
  if (of.kind === 'cone') {
    found.push(
      reading(
        'diameter',
        derive([feature, frame], (f, to) => widthAt(f, crossingOf(f, to, along, level))),
      ),
    );
    names.push('diameter');
  }
  const it = of.kind === 'line' ? 'it' : 'its axis';
  if (names.length === 0) return { readings: found };
  return { readings: found, where: `${together(names)} where ${it} crosses ${along} = ${level}` };
}

/** A plane of the frame is near enough to tell an axis on it, in units of the feature's reach from its middle. */
const NEAR = 1.5;

/** Coordinate of the plane an axis is told at. */
function levelOf(feature: Uncertain<Feature>, frame: Frame, along: (typeof axes)[number]): number {
  const { at, reach } = middleOf(feature);
  const middle = frame.toFrame(at)[axes.indexOf(along)];
  const hasSize = (level: number) => {
    const { value } = feature;
    return value.kind !== 'cone' || widthAt(value, crossingOf(value, frame, along, level)) > 0;
  };
  if (Math.abs(middle) <= NEAR * reach && hasSize(0)) return 0;
  const unit = reach > 20 ? 10 : reach > 2 ? 1 : 0.1;
  const round = Number((Math.round(middle / unit) * unit).toFixed(1));
  return hasSize(round) ? round : Number(middle.toFixed(3));
}

/** The middle of what was seen of an axis, and how far it reached from there; of a cone the points, not the apex. */
function middleOf(feature: Uncertain<Feature>): { readonly at: Vec3; readonly reach: number } {
  const cone = [...feature.roots.values()].find((root) => root.feature.kind === 'cone');
  if (feature.value.kind === 'cone' && cone !== undefined) return cone.uncertainty;
  return ofFeature(feature) ?? { at: axisOf(feature.value).point, reach: Number.POSITIVE_INFINITY };
}

/** In scan axes. */
function crossingOf(feature: Feature, frame: Frame, along: (typeof axes)[number], level: number): Vec3 {
  const { point, direction } = axisOf(feature);
  const height = dot(frame[along], subtract(point, frame.origin));
  return addScaled(point, direction, (level - height) / dot(frame[along], direction));
}

/** Diameter of a cone square to its axis at a place on that; negative before the apex. */
function widthAt(feature: Feature, place: Vec3): number {
  if (feature.kind !== 'cone') return 0;
  return 2 * dot(subtract(place, feature.apex), feature.direction) * Math.tan(feature.halfAngle);
}
