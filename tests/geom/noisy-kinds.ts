import {
  createScan,
  cutMesh,
  type Feature,
  type Fit,
  fitCircle,
  fitCone,
  fitCylinder,
  fitLine,
  fitPlane,
  fitSlot,
  fitSphere,
  fitStretch,
  type Plane,
  type ScanNoise,
  type Vec3,
} from '@fettle/geom';
import type { Field } from './noise-field.js';

interface Options {
  readonly noise: ScanNoise;
  /** Robust standard deviations beyond which points are left out. */
  readonly reject?: number;
}

/** A feature of known shape whose points err by a field along its normal. */
export interface NoisyKind {
  readonly name: string;
  readonly truth: Feature;
  /** Parameters looked at, by their place in the table of small moves. */
  readonly parameters: readonly number[];
  fit(error: Field, options: Options): Fit<Feature>;
}

const ground: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };

/** Points of a surface with their normals, xyz nxnynz …, moved by the error. */
function moved(pairs: readonly (readonly [place: Vec3, normal: Vec3])[], error: Field): Float64Array {
  const positions = new Float64Array(3 * pairs.length);
  pairs.forEach(([p, n], i) => {
    const e = error(...p);
    for (let k = 0; k < 3; k++) positions[3 * i + k] = p[k] + e * n[k];
  });
  return positions;
}

const grid = (rows: number, columns: number): readonly (readonly [number, number])[] =>
  Array.from({ length: rows * columns }, (_, k) => [
    (Math.floor(k / columns) + 0.5) / rows,
    ((k % columns) + 0.5) / columns,
  ]);

function circle(name: string, radius: number, turn: number): NoisyKind {
  const isWhole = turn > 6.28;
  const count = Math.max(12, Math.round((turn * radius) / 0.3));
  const points = Array.from({ length: count }, (_, k): [Vec3, Vec3] => {
    const a = (turn * k) / (isWhole ? count : count - 1);
    return [
      [radius * Math.cos(a), radius * Math.sin(a), 0],
      [Math.cos(a), Math.sin(a), 0],
    ];
  });
  return {
    name,
    truth: { kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius },
    parameters: [0, 1, 5],
    fit: (error, options) => fitCircle({ positions: moved(points, error) }, { plane: ground, ...options }),
  };
}

function cylinder(name: string, radius: number, height: number, turn: number): NoisyKind {
  const points = grid(Math.max(8, Math.round((turn * radius) / 0.6)), Math.max(4, Math.round(height / 0.6))).map(
    ([s, t]): [Vec3, Vec3] => {
      const a = turn * (s - 0.5);
      const n: Vec3 = [Math.cos(a), Math.sin(a), 0];
      return [[radius * n[0], radius * n[1], height * (t - 0.5)], n];
    },
  );
  return {
    name,
    truth: { kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius },
    parameters: [0, 1, 2, 3, 4],
    fit: (error, options) => fitCylinder({ positions: moved(points, error) }, options),
  };
}

function cone(name: string, radius: number, height: number, halfAngle: number): NoisyKind {
  const points = grid(100, 20).map(([s, t]): [Vec3, Vec3] => {
    const a = 2 * Math.PI * s;
    const z = height * (t - 0.5);
    const r = radius + z * Math.tan(halfAngle);
    const n: Vec3 = [Math.cos(a) * Math.cos(halfAngle), Math.sin(a) * Math.cos(halfAngle), -Math.sin(halfAngle)];
    return [[r * Math.cos(a), r * Math.sin(a), z], n];
  });
  return {
    name,
    truth: { kind: 'cone', apex: [0, 0, -radius / Math.tan(halfAngle)], direction: [0, 0, 1], halfAngle },
    parameters: [0, 1, 2, 3, 4, 5],
    fit: (error, options) => fitCone({ positions: moved(points, error) }, options),
  };
}

function cap(name: string, radius: number, count: number): NoisyKind {
  const points = Array.from({ length: count }, (_, k): [Vec3, Vec3] => {
    const c = 1 - (0.4 * (k + 0.5)) / count;
    const s = Math.sqrt(1 - c * c);
    const n: Vec3 = [s * Math.cos(k * 2.399963), s * Math.sin(k * 2.399963), c];
    return [[radius * n[0], radius * n[1], radius * n[2]], n];
  });
  return {
    name,
    truth: { kind: 'sphere', center: [0, 0, 0], radius },
    parameters: [0, 1, 2, 3],
    fit: (error, options) => fitSphere({ positions: moved(points, error) }, options),
  };
}

function slot(name: string, length: number, width: number): NoisyKind {
  const h = (length - width) / 2;
  const round = (Math.PI * width) / 2;
  const around = 4 * h + 2 * round;
  const count = Math.round(around / 0.3);
  const points = Array.from({ length: count }, (_, k): [Vec3, Vec3] => {
    const s = (around * k) / count;
    const half = s < 2 * h + round ? 1 : -1;
    const on = half > 0 ? s : s - 2 * h - round;
    if (on < 2 * h)
      return [
        [half * (on - h), (-half * width) / 2, 0],
        [0, -half, 0],
      ];
    const a = -Math.PI / 2 + (2 * (on - 2 * h)) / width;
    const n: Vec3 = [half * Math.cos(a), half * Math.sin(a), 0];
    return [[half * h + (n[0] * width) / 2, (n[1] * width) / 2, 0], n];
  });
  return {
    name,
    truth: { kind: 'slot', center: [0, 0, 0], normal: [0, 0, 1], direction: [1, 0, 0], length, width },
    parameters: [0, 1, 2, 3, 4],
    fit: (error, options) => fitSlot({ positions: moved(points, error) }, { plane: ground, ...options }),
  };
}

/** A quarter of a wall of 20 mm radius in triangles of 0.6 mm, cut across: neighboring crossings share vertices. */
function cutArc(name: string, radius: number, turn: number): NoisyKind {
  const [around, up] = [Math.round((turn * radius) / 0.6), 10];
  const triangles: number[] = [];
  for (let i = 0; i < around; i++)
    for (let j = 0; j < up; j++) {
      const p = i * (up + 1) + j;
      triangles.push(p, p + up + 1, p + up + 2, p, p + up + 2, p + 1);
    }
  const points = Array.from({ length: (around + 1) * (up + 1) }, (_, k): [Vec3, Vec3] => {
    const a = (turn * Math.floor(k / (up + 1))) / around;
    const n: Vec3 = [Math.cos(a), Math.sin(a), 0];
    return [[radius * n[0], radius * n[1], 0.6 * (k % (up + 1)) - 2.83], n];
  });
  return {
    name,
    truth: { kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius },
    parameters: [0, 1, 5],
    fit: (error, options) => {
      const positions = moved(points, error);
      const section = cutMesh(createScan({ name: 'wall', positions, triangles: Uint32Array.from(triangles) }), ground);
      return fitStretch(section, { within: { center: [0, 0, 0], radius: 2 * radius } }, 'circle', options);
    },
  };
}

const plane: NoisyKind = {
  name: 'plane 20 × 20',
  truth: ground,
  parameters: [0, 1, 2],
  fit: (error, options) => fitPlane({ positions: moved(flat, error) }, options),
};
const flat = grid(34, 34).map(([s, t]): [Vec3, Vec3] => [
  [20 * (s - 0.5), 20 * (t - 0.5), 0],
  [0, 0, 1],
]);

const line: NoisyKind = {
  name: 'line 20 long',
  truth: { kind: 'line', point: [0, 0, 0], direction: [1, 0, 0] },
  parameters: [0, 2],
  fit: (error, options) => fitLine({ positions: moved(edge, error) }, options),
};
const edge = Array.from({ length: 67 }, (_, k): [Vec3, Vec3] => [
  [0.3 * (k - 33), 0, 0],
  [0, 1, 0],
]);

export const noisyKinds: readonly NoisyKind[] = [
  plane,
  line,
  circle('hole ⌀3', 1.5, 2 * Math.PI),
  circle('hole ⌀5', 2.5, 2 * Math.PI),
  circle('hole ⌀10', 5, 2 * Math.PI),
  circle('arc of 90°, R20', 20, Math.PI / 2),
  circle('arc of 46°, R20', 20, (46 * Math.PI) / 180),
  slot('slot 30 × 10', 30, 10),
  cap('cap, R15', 15, 1200),
  cylinder('cylinder, R10, 20 long', 10, 20, 2 * Math.PI),
  cylinder('cylinder of 120°, R15', 15, 20, (2 * Math.PI) / 3),
  cylinder('cylinder, R10, 5 long', 10, 5, 2 * Math.PI),
  cone('cone, R10', 10, 12, 0.2),
  cutArc('arc of 90°, R20, cut', 20, Math.PI / 2),
];
