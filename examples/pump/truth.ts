import type { Circle, Cylinder, Feature, Line, Plane, Point, Vec3 } from '@fettle/geom';
import { casting, tappedCenter } from './casting.js';
import { type Pose, pointToScan, turnToScan } from './pose.js';

/** What is true of the pump: its features as they were drawn, before anything scanned them. */
export interface Truth {
  /** The datum frame: the pump's own axes, in scan axes. */
  readonly frame: Pose;
  /** In the pump's own axes, by name. Normals point out of the metal. */
  readonly onPump: TrueFeatures;
  /** The same in scan axes. */
  readonly onScan: TrueFeatures;
}

export interface TrueFeatures {
  readonly top: Plane;
  readonly front: Plane;
  readonly side: Plane;
  readonly bossFace: Plane;
  readonly bore: Cylinder;
  readonly leftHole: Circle;
  readonly rightHole: Circle;
  readonly tapped: readonly Circle[];
  readonly edge: Line;
  readonly corner: Point;
  readonly leverAxis: Line;
}

export function truthAt(pose: Pose): Truth {
  const { front, side, bore, boss, holes, tapped, lever } = casting;
  const origin: Vec3 = [0, 0, 0];
  const up: Vec3 = [0, 0, 1];
  const [bx, by, bz] = bore.direction;
  const outOfBore: Vec3 = [-bx, -by, -bz];
  const plane = (point: Vec3, normal: Vec3): Plane => ({ kind: 'plane', point, normal });
  const circle = (center: Vec3, normal: Vec3, radius: number): Circle => ({ kind: 'circle', center, normal, radius });
  const onPump: TrueFeatures = {
    top: plane(origin, up),
    front: plane(origin, front),
    side: plane(origin, side),
    bossFace: plane(
      [bore.point[0] - boss.face * bx, bore.point[1] - boss.face * by, bore.point[2] - boss.face * bz],
      outOfBore,
    ),
    bore: { kind: 'cylinder', point: bore.point, direction: bore.direction, radius: bore.radius },
    leftHole: circle(holes[0].center, up, holes[0].radius),
    rightHole: circle(holes[1].center, up, holes[1].radius),
    tapped: Array.from({ length: tapped.count }, (_, i) => circle(tappedCenter(i), outOfBore, tapped.radius)),
    edge: { kind: 'line', point: origin, direction: [1, 0, 0] },
    corner: { kind: 'point', position: origin },
    leverAxis: { kind: 'line', point: [lever.post[0], lever.post[1], 0], direction: up },
  };
  const set = <F extends Feature>(feature: F): F => featureToScan(pose, feature) as F;
  return {
    frame: pose,
    onPump,
    onScan: {
      top: set(onPump.top),
      front: set(onPump.front),
      side: set(onPump.side),
      bossFace: set(onPump.bossFace),
      bore: set(onPump.bore),
      leftHole: set(onPump.leftHole),
      rightHole: set(onPump.rightHole),
      tapped: onPump.tapped.map(set),
      edge: set(onPump.edge),
      corner: set(onPump.corner),
      leverAxis: set(onPump.leverAxis),
    },
  };
}

function featureToScan(pose: Pose, feature: Feature): Feature {
  const point = (p: Vec3): Vec3 => pointToScan(pose, p);
  const turn = (d: Vec3): Vec3 => turnToScan(pose, d);
  switch (feature.kind) {
    case 'plane':
      return { ...feature, point: point(feature.point), normal: turn(feature.normal) };
    case 'line':
    case 'cylinder':
      return { ...feature, point: point(feature.point), direction: turn(feature.direction) };
    case 'point':
      return { ...feature, position: point(feature.position) };
    case 'circle':
      return { ...feature, center: point(feature.center), normal: turn(feature.normal) };
    case 'sphere':
      return { ...feature, center: point(feature.center) };
    case 'cone':
      return { ...feature, apex: point(feature.apex), direction: turn(feature.direction) };
  }
}
