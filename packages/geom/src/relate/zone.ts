import type { WithAxis } from '../construct/roles.js';
import type { Plane } from '../feature/feature.js';
import { minimumZoneLine } from '../fit/criteria/line.js';
import { cross, dot, normalize, subtract, type Vec3 } from '../math/vec3.js';
import { range } from './extremes.js';
import { heightsAbove, type Toleranced } from './toleranced.js';

/** What a tolerance zone (ISO 1101) can be referred to: a plane or an axis. */
export type Datum = Plane | WithAxis;

type Surface = Extract<Toleranced, { kind: 'surface' }>;

export interface ZoneOptions {
  /**
   * Share of a surface's points left out as extremes, half of it at each side, in [0, 0.5). Default 0: single specks decide the
   * zone.
   */
  readonly trim?: number;
}

/** Between the two nearest planes square to a direction that hold a surface, mm. */
export function zoneAcross({ points, plane }: Surface, direction: Vec3, { trim }: ZoneOptions): number {
  const [low, high] = range(heightsAbove(points, plane.point, direction), trim);
  return high - low;
}

/** Between the two nearest parallel planes along a direction that hold a surface, mm: exact, over every way they may be turned. */
export function zoneAlong({ points, plane }: Surface, direction: Vec3, { trim }: ZoneOptions): number {
  const start = { kind: 'line', point: plane.point, direction: normalize(cross(direction, plane.normal)) } as const;
  const along: Plane = { kind: 'plane', point: plane.point, normal: direction };
  return minimumZoneLine(points, { start, plane: along, ...(trim !== undefined && { trim }) }).form;
}

/** How far the two ends of an axis are apart seen along a direction, mm. */
export function endsSeenAlong(from: Vec3, to: Vec3, direction: Vec3): number {
  const span = subtract(to, from);
  const along = dot(span, direction);
  return Math.hypot(span[0] - along * direction[0], span[1] - along * direction[1], span[2] - along * direction[2]);
}
