import { type Vec3, vec3 } from '@fettle/geom';
import type { Session } from '../session/session.js';
import type { SectionView } from '../worker/protocol.js';
import { frameInUse } from './cutting.js';

const { cross, dot, normalize, subtract } = vec3;

/** How a section lies on the sheet: which way is right and up, and from where coordinates count. */
export interface DrawingAxes {
  readonly origin: Vec3;
  readonly right: Vec3;
  readonly up: Vec3;
  /** What the axes of the sheet are called: `x`, `−y`; empty where they run along no axis of the frame. */
  readonly names: readonly [right: string, up: string];
}

const NEARLY = 0.9999;

/**
 * A section as it is drawn: the frame's z up where the section holds it, else its y; seen so that x, or y, runs to the right. Coordinates
 * count from the frame's origin.
 */
export function drawingAxes(session: Session, section: SectionView): DrawingAxes {
  const { origin, axes } = frameInUse(session);
  const { normal } = section;
  const lies = (axis: Vec3): boolean => Math.abs(dot(axis, normal)) < 0.7;
  const upright = lies(axes.z) ? axes.z : axes.y;
  const up = normalize(vec3.addScaled(upright, normal, -dot(upright, normal)));
  const across = cross(up, normal);
  const most = [axes.x, axes.y].find((axis) => Math.abs(dot(axis, across)) > 0.7) ?? axes.z;
  const right = dot(most, across) < 0 ? vec3.negate(across) : across;
  const nameOf = (direction: Vec3): string => {
    for (const name of ['x', 'y', 'z'] as const) {
      const along = dot(axes[name], direction);
      if (Math.abs(along) > NEARLY) return along > 0 ? name : `−${name}`;
    }
    return '';
  };
  return { origin, right, up, names: [nameOf(right), nameOf(up)] };
}

/** Where a place is drawn, mm from the origin: right and up. */
export function onSheet({ origin, right, up }: DrawingAxes, place: Vec3): readonly [number, number] {
  const d = subtract(place, origin);
  return [dot(d, right), dot(d, up)];
}
