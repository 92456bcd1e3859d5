import type { Vec3 } from '@fettle/geom';
import { bar, roundedRectangle, roundIntersection, roundUnion } from './signed-distance.js';

/**
 * The pump's cast body, invented: a block with draft, two machined feet on its top, a bored and drilled boss on its front,
 * an outlet on its right, a base below, and a lever that swings over it all.
 *
 * Axes: z up, square to the feet; x along the edge where the feet's plane and the front face would meet; y backward. The
 * origin is the corner where the feet's plane, the front face and the left side face would meet.
 */

const radians = (degrees: number): number => (degrees * Math.PI) / 180;

/** Unit vector from its x and z parts per unit of y. */
const alongY = (x: number, z: number): Vec3 => {
  const l = Math.hypot(x, 1, z);
  return [x / l, 1 / l, z / l];
};

/** Everything the plan measures is computed from these, mm. */
export const casting = {
  /** Outward normal of the front face: draft of 2.1°. */
  front: [0, -Math.cos(radians(2.1)), Math.sin(radians(2.1))] as Vec3,
  /** Outward normal of the left side face: draft of 1.4°, and 0.7° off square to the front, as patterns are. */
  side: [
    -Math.cos(radians(1.4)) * Math.cos(radians(0.7)),
    -Math.cos(radians(1.4)) * Math.sin(radians(0.7)),
    Math.sin(radians(1.4)),
  ] as Vec3,
  /** The two feet mirror each other about x = `middle`; their machined tops lie at z = 0. */
  feet: { middle: 125, offset: 79, y: 70, halfWidth: 35, halfDepth: 50, corner: 9, draft: radians(3) },
  /** Counterbored bolt holes, one in each foot, square to it. */
  holes: [
    { center: [43.2, 61.7, 0] as Vec3, radius: 9 },
    { center: [205.6, 62.4, 0] as Vec3, radius: 9 },
  ],
  counterbore: { depth: 12, throughRadius: 5.5, throughDepth: 40 },
  /** A slot for a locating key in the left foot: `center`, along x. */
  keySlot: { center: [55.6, 99.3, 0] as Vec3, length: 34, width: 10, depth: 4 },
  /** Holes for pins in the right foot, in a row along x: the `first` of them, and from each to the next. */
  pinHoles: { first: [186.4, 104.2, 0] as Vec3, pitch: 18, count: 3, radius: 3, depth: 9 },
  /** The bore for the bearing, from the front: `point` on its axis, `direction` into the body. */
  bore: { point: [125.4, 0, -62.2] as Vec3, direction: alongY(0.0024, -0.0041), radius: 26, depth: 88 },
  /** The boss around the bore: its machined face is square to the bore's axis, `face` before `point`. */
  boss: { radius: 40, face: 17 },
  /** Tapped holes in the boss's face, the first straight to the right, on over the top; in one a screw broke off, flush. */
  tapped: { count: 6, circleRadius: 33, radius: 2.5, depth: 14, broken: 4 },
  /** The base's walls stand upright and mirror each other, as the feet do, about x = `middle`. */
  base: { y: 72, halfWidth: 142, halfDepth: 92, corner: 22, top: -104 },
  top: -7,
  bottom: -116,
  back: 148,
  right: 250,
  /** Outlet to the right: axis along x through y, z. */
  outlet: { y: 80, z: -58, radius: 29, bore: 21, flangeRadius: 45, flangeFrom: 281, flangeTo: 294 },
  /** Bolt holes drilled through the outlet's flange, at the corners of a square about its axis. */
  flangeHoles: { pitch: 49.5, radius: 5 },
  /** Conical seat for a seal in the outlet's mouth: its angle to the axis, and its radius at the flange's face. */
  seat: { halfAngle: radians(30), radius: 27 },
  /** The lever turns about a vertical axis on the post. */
  lever: {
    post: [125, 121] as const,
    hub: [125, 121, 35] as Vec3,
    tip: [216.3, 6.2, 62.4] as Vec3,
    postRadius: 11,
    hubRadius: 16,
    armRadius: 6,
    knobRadius: 12,
  },
} as const;

const { feet, base, holes, counterbore, keySlot, pinHoles, bore, boss, tapped, outlet, flangeHoles, seat, lever } =
  casting;

const seatCos = Math.cos(seat.halfAngle);
const seatSlope = Math.tan(seat.halfAngle);
const draftCos = Math.cos(radians(2));
const draftSin = Math.sin(radians(2));
const footCos = Math.cos(feet.draft);
const footSin = Math.sin(feet.draft);
const [frontX, frontY, frontZ] = casting.front;
const [sideX, sideY, sideZ] = casting.side;
const [boreX, boreY, boreZ] = bore.point;
const [axisX, axisY, axisZ] = bore.direction;
/** Two directions across the bore: `right` level, `up` square to it and the axis. */
const level = Math.hypot(axisX, axisY);
const rightX = axisY / level;
const rightY = -axisX / level;
const upX = rightY * axisZ;
const upY = -rightX * axisZ;
const upZ = rightX * axisY - rightY * axisX;
const { hub } = lever;

/** Where the tapped holes' axes pass the bore's `point`, for the truth and the shape alike: angle from the right, mm. */
export function tappedCenter(index: number): Vec3 {
  const angle = (2 * Math.PI * index) / tapped.count;
  const a = tapped.circleRadius * Math.cos(angle);
  const b = tapped.circleRadius * Math.sin(angle);
  const t = -boss.face;
  return [
    boreX + a * rightX + b * upX + t * axisX,
    boreY + a * rightY + b * upY + t * axisY,
    boreZ + b * upZ + t * axisZ,
  ];
}

/** Distance from the wall of the nearest tapped hole, across the bore's axis, negative inside; none where the screw broke off. */
function aroundTapped(a: number, b: number): number {
  // One hole stands for all six: turn the point into the first one's sixth.
  const sixth = (2 * Math.PI) / tapped.count;
  const angle = Math.atan2(b, a);
  const place = Math.round(angle / sixth);
  if ((place + tapped.count) % tapped.count === tapped.broken - 1) return Number.POSITIVE_INFINITY;
  const around = Math.sqrt(a * a + b * b);
  const turned = angle - sixth * place;
  const ta = around * Math.cos(turned) - tapped.circleRadius;
  const tb = around * Math.sin(turned);
  return Math.sqrt(ta * ta + tb * tb) - tapped.radius;
}

/** Distance from the wall of the nearest bolt hole of the flange, across the outlet's axis, negative inside. */
function aroundFlangeHole(acrossY: number, acrossZ: number): number {
  const y = Math.abs(acrossY) - flangeHoles.pitch / 2;
  const z = Math.abs(acrossZ) - flangeHoles.pitch / 2;
  return Math.sqrt(y * y + z * z) - flangeHoles.radius;
}

/** Distance from the wall of the nearest pin hole, square to the feet, negative inside. */
function aroundPinHole(x: number, y: number): number {
  const [firstX, firstY] = pinHoles.first;
  const place = Math.min(pinHoles.count - 1, Math.max(0, Math.round((x - firstX) / pinHoles.pitch)));
  const along = x - firstX - place * pinHoles.pitch;
  return Math.sqrt(along * along + (y - firstY) * (y - firstY)) - pinHoles.radius;
}

/** Signed distance, mm, negative inside the metal; near sharp edges a lower bound of it. The hot function: scalars only. */
export function castingDistance(x: number, y: number, z: number): number {
  // The block: four drafted walls, corners rounded, open top and bottom.
  const front = frontX * x + frontY * y + frontZ * z;
  const side = sideX * x + sideY * y + sideZ * z;
  const back = draftCos * (y - casting.back) + draftSin * z;
  const right = draftCos * (x - casting.right) + draftSin * z;
  let walls = roundIntersection(front, side, 12);
  walls = Math.max(walls, roundIntersection(back, right, 12));
  walls = Math.max(walls, roundIntersection(front, right, 12));
  walls = Math.max(walls, roundIntersection(back, side, 12));
  let body = roundIntersection(walls, z - casting.top, 7);

  // A part too far away to touch the nearest surface is passed over: half the time of this function.
  if (z - base.top < Math.max(body, 9)) {
    const plinth = roundedRectangle(x - feet.middle, y - base.y, base.halfWidth, base.halfDepth, base.corner);
    body = roundUnion(body, roundIntersection(plinth, Math.max(z - base.top, casting.bottom - z), 3), 9);
  }
  if (z > -20) {
    const barrelX = x - 125;
    const barrelZ = z + 62;
    const barrel = Math.sqrt(barrelX * barrelX + barrelZ * barrelZ) - 59;
    body = roundUnion(body, roundIntersection(barrel, Math.max(28 - y, y - 128), 5), 6);

    // Feet, cut flat at z = 0.
    const footX = Math.abs(x - feet.middle) - feet.offset;
    const footWall = roundedRectangle(footX, y - feet.y, feet.halfWidth, feet.halfDepth, feet.corner);
    body = roundUnion(body, Math.max(footCos * footWall + footSin * z, z), 5);
  }

  // Boss, in coordinates along and across the bore's axis.
  const px = x - boreX;
  const py = y - boreY;
  const pz = z - boreZ;
  const t = px * axisX + py * axisY + pz * axisZ;
  const a = px * rightX + py * rightY;
  const b = px * upX + py * upY + pz * upZ;
  const around = Math.sqrt(a * a + b * b);
  body = roundUnion(body, Math.max(around - boss.radius, -boss.face - t, t - 60), 8);

  // Outlet and its flange.
  const ox = y - outlet.y;
  const oz = z - outlet.z;
  const outletAround = Math.sqrt(ox * ox + oz * oz);
  if (225 - x < Math.max(body, 10)) {
    body = roundUnion(body, Math.max(outletAround - outlet.radius, 225 - x, x - outlet.flangeTo + 2), 10);
    const flange = roundIntersection(outletAround - outlet.flangeRadius, outlet.flangeFrom - x, 2.5);
    body = roundUnion(body, Math.max(flange, x - outlet.flangeTo), 4);
  }

  // Post, hub and lever.
  if (-20 - z < Math.max(body, 7)) {
    const postX = x - lever.post[0];
    const postY = y - lever.post[1];
    const postAround = Math.sqrt(postX * postX + postY * postY);
    body = roundUnion(body, Math.max(postAround - lever.postRadius, -20 - z, z - 26), 7);
    if (22 - z < Math.max(body, 0)) {
      const hubBody = roundIntersection(postAround - lever.hubRadius, Math.abs(z - hub[2]) - 9, 2);
      const arm = roundUnion(hubBody, bar(x, y, z, hub, lever.tip, lever.armRadius), 6);
      const tx = x - lever.tip[0];
      const ty = y - lever.tip[1];
      const tz = z - lever.tip[2];
      const knob = Math.sqrt(tx * tx + ty * ty + tz * tz) - lever.knobRadius;
      const pin = Math.max(postAround - 5, z - 49, 22 - z);
      body = Math.min(body, roundUnion(arm, knob, 5), pin);
    }
  }

  // Everything cut away by machining.
  if (z > -counterbore.throughDepth - 1) {
    for (let i = 0; i < holes.length; i++) {
      const hx = x - holes[i]!.center[0];
      const hy = y - holes[i]!.center[1];
      const holeAround = Math.sqrt(hx * hx + hy * hy);
      const wide = Math.max(holeAround - holes[i]!.radius, -counterbore.depth - z);
      const through = Math.max(holeAround - counterbore.throughRadius, -counterbore.throughDepth - z);
      body = Math.max(body, -Math.max(Math.min(wide, through), z - 10));
    }
    const along = Math.max(0, Math.abs(x - keySlot.center[0]) - (keySlot.length - keySlot.width) / 2);
    const across = y - keySlot.center[1];
    const slotAround = Math.sqrt(along * along + across * across) - keySlot.width / 2;
    body = Math.max(body, -Math.max(slotAround, -keySlot.depth - z, z - 10));
    body = Math.max(body, -Math.max(aroundPinHole(x, y), -pinHoles.depth - z, z - 10));
  }
  if (t < bore.depth + 5 && around < boss.radius + 5) {
    const chamfer = Math.SQRT1_2 * (around - bore.radius - 1.2 + (t + boss.face));
    body = Math.max(body, -Math.min(Math.max(around - bore.radius, t - bore.depth), Math.max(chamfer, t)));
    if (Math.abs(around - tapped.circleRadius) < 8 && t < 0) {
      body = Math.max(body, -Math.max(aroundTapped(a, b), t + boss.face - tapped.depth));
    }
  }
  if (x > 200) {
    body = Math.max(body, -Math.max(outletAround - outlet.bore, 225 - x));
    body = Math.max(body, -seatCos * (outletAround - seat.radius + seatSlope * (outlet.flangeTo - x)));
    body = Math.max(body, -Math.max(aroundFlangeHole(ox, oz), outlet.flangeFrom - 10 - x));
  }
  return body;
}

/** Standard deviation of the casting's skin, mm: none on machined surfaces, little on the drafted faces, more elsewhere. */
export const skin = { face: 0.03, elsewhere: 0.2 } as const;

/** How rough the skin is at a point of the surface, mm; it fades within 1.5 mm toward a machined surface. */
export function skinAt(x: number, y: number, z: number): number {
  const footX = Math.abs(x - feet.middle) - feet.offset;
  const footWall = roundedRectangle(footX, y - feet.y, feet.halfWidth, feet.halfDepth, feet.corner);
  let machined = Math.max(footWall, Math.abs(z));
  for (const hole of holes) {
    const around = Math.hypot(x - hole.center[0], y - hole.center[1]);
    machined = Math.min(machined, Math.max(around - hole.radius, Math.abs(z) - counterbore.throughDepth));
  }
  const slotAlong = Math.max(0, Math.abs(x - keySlot.center[0]) - (keySlot.length - keySlot.width) / 2);
  const slotAround = Math.hypot(slotAlong, y - keySlot.center[1]) - keySlot.width / 2;
  machined = Math.min(machined, Math.max(slotAround, Math.abs(z) - keySlot.depth));
  machined = Math.min(machined, Math.max(aroundPinHole(x, y), Math.abs(z) - pinHoles.depth));
  const px = x - boreX;
  const py = y - boreY;
  const pz = z - boreZ;
  const t = px * axisX + py * axisY + pz * axisZ;
  const a = px * rightX + py * rightY;
  const b = px * upX + py * upY + pz * upZ;
  const around = Math.hypot(a, b);
  machined = Math.min(machined, Math.max(around - boss.radius, Math.abs(t + boss.face)));
  machined = Math.min(machined, Math.max(aroundTapped(a, b), -boss.face - t, t + boss.face - tapped.depth));
  machined = Math.min(machined, Math.max(around - bore.radius, -boss.face - t));
  const outletAround = Math.hypot(y - outlet.y, z - outlet.z);
  machined = Math.min(machined, Math.max(outletAround - outlet.flangeRadius, Math.abs(x - outlet.flangeTo)));
  machined = Math.min(machined, Math.max(aroundFlangeHole(y - outlet.y, z - outlet.z), outlet.flangeFrom - x));
  machined = Math.min(machined, Math.max(outletAround - outlet.bore, 220 - x));
  const seatDepth = (seat.radius - outlet.bore) / seatSlope;
  machined = Math.min(machined, Math.max(outletAround - seat.radius, outlet.flangeTo - seatDepth - x));

  const front = Math.abs(frontX * x + frontY * y + frontZ * z);
  const side = Math.abs(sideX * x + sideY * y + sideZ * z);
  const rough = skin.face + (skin.elsewhere - skin.face) * fade(Math.min(front, side) / 4);
  return rough * fade(machined / 1.5);
}

/** 0 up to t = 0, 1 from t = 1, smooth between. */
const fade = (t: number): number => {
  const c = Math.min(1, Math.max(0, t));
  return c * c * (3 - 2 * c);
};
