import type { Plane } from '../feature/feature.js';
import type { WithAxis } from '../feature/roles.js';
import { minimumZoneLine } from '../fit/extremes/line.js';
import { addScaled, cross, dot, normalize, scale, subtract, type Vec3 } from '../math/vec3.js';
import type { Points } from '../scan/scan.js';
import { extremes } from './extremes.js';
import { type Deciding, holding } from './holding.js';
import { heightsAbove, type Toleranced } from './toleranced.js';

/** What a tolerance zone (ISO 1101) can be referred to: a plane or an axis. */
export type Datum = Plane | WithAxis;

export type Surface = Extract<Toleranced, { kind: 'surface' }>;
export type Axis = Extract<Toleranced, { kind: 'axis' }>;

export interface ZoneOptions {
  /**
   * Share of a surface's points left out as extremes, half of it at each side, in [0, 0.5). Default 0: single specks decide the
   * zone.
   */
  readonly trim?: number;
}

/** The smallest zone that holds a feature. */
export interface Zone {
  /** Width between planes, or diameter, mm. */
  readonly value: number;
  /** Across which the width is measured; of a diameter, from the zone's middle to the place that decides it. Unit length. */
  readonly along: Vec3;
  readonly deciding: readonly Deciding[];
}

/** A point of a set, counted as {@link heightsAbove} does. */
export function pointOf({ positions, select }: Points, i: number): Vec3 {
  const p = 3 * (select ? select[i] : i);
  return [positions[p], positions[p + 1], positions[p + 2]];
}

/** Between the two nearest planes square to a direction that hold a surface. */
export function zoneAcross({ points, plane }: Surface, along: Vec3, { trim }: ZoneOptions): Zone {
  const { low, high, lowest, highest } = extremes(heightsAbove(points, plane.point, along), trim);
  return {
    value: high - low,
    along,
    deciding: [
      { place: pointOf(points, highest), weight: 1 },
      { place: pointOf(points, lowest), weight: -1 },
    ],
  };
}

/** Between the two nearest parallel planes along a direction that hold a surface: exact, over every way they may be turned. */
export function zoneAlong({ points, plane }: Surface, direction: Vec3, { trim }: ZoneOptions): Zone {
  const start = { kind: 'line', point: plane.point, direction: normalize(cross(direction, plane.normal)) } as const;
  const seen: Plane = { kind: 'plane', point: plane.point, normal: direction };
  const found = minimumZoneLine(points, { start, plane: seen, ...(trim !== undefined && { trim }) });
  const along = cross(direction, found.feature.direction);
  return { value: found.form, along, deciding: holding(found.contacts, points, [found.feature.direction]) };
}

/** A diameter about a middle: twice the way to the place farthest off. */
export function diameterTo(ways: readonly { readonly from: Vec3; readonly to: Vec3 }[]): Zone {
  const far = ways.reduce((best, way) => (length2(way) > length2(best) ? way : best));
  const reach = Math.sqrt(length2(far));
  const along = reach > 0 ? scale(subtract(far.to, far.from), 1 / reach) : ([1, 0, 0] as const);
  return { value: 2 * reach, along, deciding: [{ place: far.to, weight: 2 }] };
}

const length2 = ({ from, to }: { readonly from: Vec3; readonly to: Vec3 }): number => {
  const d = subtract(to, from);
  return dot(d, d);
};

/** What is left of a vector square to a direction. */
export const across = (v: Vec3, direction: Vec3): Vec3 => addScaled(v, direction, -dot(v, direction));
