import type { Circle, Cone, Cylinder, Ellipse, Line, Plane, Point, Slot, Sphere, Vec3 } from '@fettle/geom';
import { casting, tappedCenter } from './casting.js';
import { type Pose, pointToScan, turnToScan } from './pose.js';

/** What is true of the pump: its features as they were drawn, before anything scanned them. */
export interface Truth {
  /** The datum frame: the pump's own axes, in scan axes. */
  readonly frame: Pose;
  /** In the pump's own axes. */
  readonly onPump: TrueFeatures;
  /** The same in scan axes. */
  readonly onScan: TrueFeatures;
}

/** By the ids `plan.json` gives them. Normals point out of the metal. */
export interface TrueFeatures {
  readonly top: Plane;
  readonly front: Plane;
  readonly side: Plane;
  readonly edge: Line;
  readonly corner: Point;
  readonly 'left-hole': Circle;
  readonly 'right-hole': Circle;
  /** Of the right foot's front wall, 1 mm below its top. */
  readonly 'foot-edge': Line;
  /** The row of pin holes, from the first on. */
  readonly 'pin-row': Line;
  readonly bore: Cylinder;
  readonly 'boss-face': Plane;
  readonly 'bore-mouth': Point;
  /** What is seen of the bore at any depth, set in the boss's face. */
  readonly 'bore-section': Circle;
  readonly 'key-slot': Slot;
  readonly 'base-left': Plane;
  readonly 'base-right': Plane;
  readonly 'base-middle': Plane;
  readonly 'flange-face': Plane;
  /** The row of the flange's holes that the first of them is in. */
  readonly 'flange-holes': Line;
  readonly 'seal-seat': Cone;
  /** The circle the tapped holes stand on, in the boss's face. */
  readonly ring: Circle;
  readonly knob: Sphere;
  /** The lever's arm where it is cut 60 mm behind the front edge. */
  readonly 'lever-arm': Ellipse;
  readonly 'lever-axis': Line;
  readonly post: Cylinder;
  readonly hub: Cylinder;
  /** The post as it goes through the feet's plane. */
  readonly 'post-ring': Circle;
  /** Around the bore from the right, over the top. */
  readonly [tapped: `tapped-${number}`]: Circle;
  /** In the right foot, from the left. */
  readonly [pin: `pin-${number}`]: Circle;
  /** In the flange's face, around its axis from behind and above. */
  readonly [flange: `flange-${number}`]: Circle;
}

export type TrueFeature = Plane | Line | Point | Circle | Sphere | Cylinder | Cone | Slot | Ellipse;

export function truthAt(pose: Pose): Truth {
  const { front, side, feet, base, bore, boss, holes, keySlot, pinHoles, tapped, outlet, flangeHoles, seat, lever } =
    casting;
  const origin: Vec3 = [0, 0, 0];
  const up: Vec3 = [0, 0, 1];
  const [bx, by, bz] = bore.direction;
  const outOfBore: Vec3 = [-bx, -by, -bz];
  const mouth: Vec3 = [bore.point[0] - boss.face * bx, bore.point[1] - boss.face * by, bore.point[2] - boss.face * bz];
  const plane = (point: Vec3, normal: Vec3): Plane => ({ kind: 'plane', point, normal });
  const circle = (center: Vec3, normal: Vec3, radius: number): Circle => ({ kind: 'circle', center, normal, radius });
  // The feet widen downward by their draft.
  const footFront = feet.y - feet.halfDepth - Math.tan(feet.draft);
  const outletSide: Vec3 = [1, 0, 0];
  const half = flangeHoles.pitch / 2;
  const flangeHole = (y: 1 | -1, z: 1 | -1): Circle =>
    circle([outlet.flangeTo, outlet.y + y * half, outlet.z + z * half], outletSide, flangeHoles.radius);
  const onPump: TrueFeatures = {
    top: plane(origin, up),
    front: plane(origin, front),
    side: plane(origin, side),
    edge: { kind: 'line', point: origin, direction: [1, 0, 0] },
    corner: { kind: 'point', position: origin },
    'left-hole': circle(holes[0].center, up, holes[0].radius),
    'right-hole': circle(holes[1].center, up, holes[1].radius),
    'foot-edge': { kind: 'line', point: [feet.middle + feet.offset, footFront, -1], direction: [1, 0, 0] },
    bore: { kind: 'cylinder', point: bore.point, direction: bore.direction, radius: bore.radius },
    'boss-face': plane(mouth, outOfBore),
    'bore-mouth': { kind: 'point', position: mouth },
    'bore-section': circle(mouth, outOfBore, bore.radius),
    'key-slot': {
      kind: 'slot',
      center: keySlot.center,
      normal: up,
      direction: [1, 0, 0],
      length: keySlot.length,
      width: keySlot.width,
    },
    'pin-row': { kind: 'line', point: pinHoles.first, direction: [1, 0, 0] },
    'base-left': plane([feet.middle - base.halfWidth, base.y, base.top], [-1, 0, 0]),
    'base-right': plane([feet.middle + base.halfWidth, base.y, base.top], [1, 0, 0]),
    'base-middle': plane([feet.middle, base.y, base.top], [-1, 0, 0]),
    'flange-face': plane([outlet.flangeTo, outlet.y, outlet.z], outletSide),
    'flange-1': flangeHole(1, 1),
    'flange-2': flangeHole(-1, 1),
    'flange-3': flangeHole(-1, -1),
    'flange-4': flangeHole(1, -1),
    'flange-holes': { kind: 'line', point: flangeHole(1, 1).center, direction: [0, 1, 0] },
    'seal-seat': {
      kind: 'cone',
      apex: [outlet.flangeTo - seat.radius / Math.tan(seat.halfAngle), outlet.y, outlet.z],
      direction: [1, 0, 0],
      halfAngle: seat.halfAngle,
    },
    ring: circle(mouth, outOfBore, tapped.circleRadius),
    knob: { kind: 'sphere', center: lever.tip, radius: lever.knobRadius },
    'lever-arm': armCutAt(60),
    'lever-axis': { kind: 'line', point: [lever.post[0], lever.post[1], 0], direction: up },
    post: { kind: 'cylinder', point: [...lever.post, 0], direction: up, radius: lever.postRadius },
    hub: { kind: 'cylinder', point: [...lever.post, 0], direction: up, radius: lever.hubRadius },
    'post-ring': circle([...lever.post, 0], up, lever.postRadius),
    ...Object.fromEntries(
      Array.from({ length: pinHoles.count }, (_, i) => {
        const [x, y, z] = pinHoles.first;
        return [`pin-${i + 1}`, circle([x + i * pinHoles.pitch, y, z], up, pinHoles.radius)];
      }),
    ),
    ...Object.fromEntries(
      Array.from({ length: tapped.count }, (_, i) => [
        `tapped-${i + 1}`,
        circle(tappedCenter(i), outOfBore, tapped.radius),
      ]),
    ),
  };
  const onScan = Object.fromEntries(
    Object.entries<TrueFeature>({ ...onPump }).map(([id, feature]) => [id, featureToScan(pose, feature)]),
  ) as unknown as TrueFeatures;
  return { frame: pose, onPump, onScan };
}

/** What a cut square to y shows of the lever's arm. */
function armCutAt(y: number): Ellipse {
  const { hub, tip, armRadius } = casting.lever;
  const way: Vec3 = [tip[0] - hub[0], tip[1] - hub[1], tip[2] - hub[2]];
  const share = (y - hub[1]) / way[1];
  const across = Math.hypot(way[0], way[2]);
  return {
    kind: 'ellipse',
    center: [hub[0] + share * way[0], y, hub[2] + share * way[2]],
    normal: [0, 1, 0],
    direction: [way[0] / across, 0, way[2] / across],
    major: (armRadius * Math.hypot(...way)) / Math.abs(way[1]),
    minor: armRadius,
  };
}

function featureToScan(pose: Pose, feature: TrueFeature): TrueFeature {
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
    case 'cone':
      return { ...feature, apex: point(feature.apex), direction: turn(feature.direction) };
    case 'circle':
      return { ...feature, center: point(feature.center), normal: turn(feature.normal) };
    case 'slot':
    case 'ellipse':
      return {
        ...feature,
        center: point(feature.center),
        normal: turn(feature.normal),
        direction: turn(feature.direction),
      };
    case 'sphere':
      return { ...feature, center: point(feature.center) };
  }
}
