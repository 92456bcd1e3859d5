/** Regions chosen by a careless hand: points of a surface with noise, and points that belong elsewhere. */
import type { Circle, Cone, Cylinder, Fit, Plane, Random, Sphere, Vec3 } from '@fettle/geom';
import { randomRotation } from './null-space.js';

export type StrewnKind = 'plane' | 'circle' | 'sphere' | 'cylinder' | 'cone';
/** 40 % on a plane at 15° to the surface, or 30 % scattered evenly over the box that holds the surface. */
export type Strays = 'plane' | 'scatter';

export interface Strewn {
  readonly positions: Float64Array;
  /** Indices of the surface's own points. */
  readonly own: Uint32Array;
}

const DEGREE = Math.PI / 180;
export const NOISE = 0.05;
const between = (random: Random, low: number, high: number): number => low + (high - low) * random.next();

/** A maker of noisy points of a surface of one kind, of a size and proportions drawn at random. */
function surface(random: Random, kind: StrewnKind): () => Vec3 {
  const off = (): number => NOISE * random.normal();
  if (kind === 'plane') {
    const [length, width] = [between(random, 20, 60), between(random, 10, 40)];
    return () => [between(random, -0.5, 0.5) * length, between(random, -0.5, 0.5) * width, off()];
  }
  const radius = between(random, 5, 25);
  const arc = between(random, 120, 360) * DEGREE;
  const around = (r: number, z: number): Vec3 => {
    const turn = arc * random.next();
    return [r * Math.cos(turn), r * Math.sin(turn), z];
  };
  switch (kind) {
    case 'circle':
      return () => around(radius + off(), off());
    case 'sphere': {
      const lowest = Math.cos(between(random, 60, 180) * DEGREE);
      return () => {
        const z = between(random, lowest, 1);
        const turn = 2 * Math.PI * random.next();
        const [r, s] = [radius + off(), Math.sqrt(1 - z * z)];
        return [r * s * Math.cos(turn), r * s * Math.sin(turn), r * z];
      };
    }
    case 'cylinder': {
      const length = radius * between(random, 0.5, 4);
      return () => around(radius + off(), between(random, -0.5, 0.5) * length);
    }
    case 'cone': {
      const halfAngle = between(random, 5, 60) * DEGREE;
      const [cos, sin] = [Math.cos(halfAngle), Math.sin(halfAngle)];
      const length = Math.min(radius * between(random, 0.5, 2), (1.8 * radius) / sin);
      return () => {
        const [along, out] = [between(random, -0.5, 0.5) * length, off()];
        return around(radius + along * sin + out * cos, along * cos - out * sin);
      };
    }
  }
}

/** `count` points, in any order, turned and moved anyhow. */
export function strewn(random: Random, kind: StrewnKind, strays: Strays, count: number): Strewn {
  const point = surface(random, kind);
  const ownCount = Math.round(count * (strays === 'plane' ? 0.6 : 0.7));
  const points = Array.from({ length: ownCount }, point);
  const box = [0, 1, 2].map((k) => [Math.min(...points.map((p) => p[k])), Math.max(...points.map((p) => p[k]))]);
  const size = Math.max(...box.map(([low, high]) => high - low));
  const make = strays === 'scatter' ? scatter(random, box, size) : secondPlane(random, kind, points, box, size, count);
  while (points.length < count) points.push(make());

  const order = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i--) {
    const j = random.below(i + 1);
    [order[i], order[j]] = [order[j], order[i]];
  }
  const turn = randomRotation(random);
  const move = [500 * random.normal(), 500 * random.normal(), 500 * random.normal()];
  const positions = new Float64Array(3 * count);
  order.forEach((from, to) => {
    for (let k = 0; k < 3; k++) positions[3 * to + k] = dot(turn[k], points[from]) + move[k];
  });
  return { positions, own: Uint32Array.from(order.flatMap((from, to) => (from < ownCount ? [to] : []))) };
}

function scatter(random: Random, box: readonly number[][], size: number): () => Vec3 {
  const sides = box.map(([low, high]) => [(low + high) / 2, Math.max((high - low) / 2, size / 4)]);
  const along = ([middle, half]: readonly number[]): number => middle + half * between(random, -1, 1);
  return () => [along(sides[0]), along(sides[1]), along(sides[2])];
}

/** Beyond an edge of a plane or across it; through a point of a curved surface, at 15° to its tangent plane there. */
function secondPlane(
  random: Random,
  kind: StrewnKind,
  points: readonly Vec3[],
  box: readonly number[][],
  size: number,
  count: number,
): () => Vec3 {
  const [cos, sin] = [Math.cos(15 * DEGREE), Math.sin(15 * DEGREE)];
  if (kind === 'plane') {
    const [[left, right], [front, back]] = box;
    const isBeyond = random.next() < 0.5;
    const meet = isBeyond ? right : between(random, left, right);
    const beyond = ((right - left) * (count - points.length)) / points.length;
    return () => {
      const along = isBeyond ? beyond * random.next() : between(random, left, right) - meet;
      const out = NOISE * random.normal();
      return [meet + along * cos - out * sin, between(random, front, back), along * sin + out * cos];
    };
  }
  const at = points[random.below(points.length)];
  const normal = unit(kind === 'sphere' ? at : [at[0], at[1], 0]);
  const turn = 2 * Math.PI * random.next();
  const flat = unit([-normal[1], normal[0], 0]);
  const other = cross(normal, flat);
  const toward = mix([flat, Math.cos(turn)], [other, Math.sin(turn)]);
  const across = mix([flat, -Math.sin(turn)], [other, Math.cos(turn)]);
  const [rising, leaning] = [mix([toward, cos], [normal, sin]), mix([normal, cos], [toward, -sin])];
  return () =>
    mix(
      [at, 1],
      [rising, size * between(random, -0.5, 0.5)],
      [across, size * between(random, -0.5, 0.5)],
      [leaning, NOISE * random.normal()],
    );
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const unit = (a: Vec3): Vec3 => mix([a, 1 / Math.hypot(...a)]);
const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
function mix(...parts: readonly (readonly [Vec3, number])[]): Vec3 {
  const sum: [number, number, number] = [0, 0, 0];
  for (const [a, s] of parts) for (let k = 0; k < 3; k++) sum[k] += s * a[k];
  return sum;
}

type StrewnFeature = Plane | Circle | Sphere | Cylinder | Cone;

/**
 * How far a fit is from the fit of the surface's own points, in standard uncertainties of the latter: the largest over all
 * parameters, each seen where the uncertainty is stated.
 */
export function departureInUncertainties(found: StrewnFeature, clean: Fit<StrewnFeature>): number {
  const { at, axes, covariance } = clean.uncertainty;
  const [u, v, w] = axes;
  const m = Math.round(Math.sqrt(covariance.length));
  const departures = parametersAbout(found, at, u, v, w).map(
    (value, p) => (value - parametersAbout(clean.feature, at, u, v, w)[p]) / Math.sqrt(covariance[p * (m + 1)]),
  );
  return Math.max(...departures.map(Math.abs));
}

/** In the order of the uncertainty's table. */
function parametersAbout(feature: StrewnFeature, at: Vec3, u: Vec3, v: Vec3, w: Vec3): number[] {
  const along = (p: Vec3): number[] => [dot(minus(p, at), u), dot(minus(p, at), v), dot(minus(p, at), w)];
  const tilts = (d: Vec3): number[] => [dot(d, u) / dot(d, w), dot(d, v) / dot(d, w)];
  /** Where an axis passes the level of `at`. */
  const atLevel = (p: Vec3, d: Vec3): Vec3 => mix([p, 1], [d, dot(minus(at, p), w) / dot(d, w)]);
  switch (feature.kind) {
    case 'plane':
      return [dot(minus(feature.point, at), feature.normal) / dot(w, feature.normal), ...tilts(feature.normal)];
    case 'circle':
      return [...along(feature.center), ...tilts(feature.normal), feature.radius];
    case 'sphere':
      return [...along(feature.center), feature.radius];
    case 'cylinder':
      return [
        ...along(atLevel(feature.point, feature.direction)).slice(0, 2),
        ...tilts(feature.direction),
        feature.radius,
      ];
    case 'cone': {
      const there = atLevel(feature.apex, feature.direction);
      const radius = dot(minus(there, feature.apex), feature.direction) * Math.tan(feature.halfAngle);
      return [...along(there).slice(0, 2), ...tilts(feature.direction), radius, feature.halfAngle];
    }
  }
}
