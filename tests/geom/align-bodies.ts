import { createScan, type Random, type Scan, seededRandom, transformScan, type Vec3 } from '@fettle/geom';

/** A surface as a function: a place and the normal there, evenly over its area. */
export interface Face {
  readonly area: number;
  at(random: Random): readonly [place: Vec3, normal: Vec3] | undefined;
}

const { PI } = Math;

/** Rectangle with a corner, two edges square to each other, and the normal u × v. */
const rectangle = (corner: Vec3, u: Vec3, v: Vec3): Face => {
  const n: Vec3 = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
  const area = Math.hypot(...n);
  return {
    area,
    at: (random) => {
      const [s, t] = [random.next(), random.next()];
      const place = [0, 1, 2].map((k) => corner[k]! + s * u[k]! + t * v[k]!) as unknown as Vec3;
      return [place, [n[0] / area, n[1] / area, n[2] / area]];
    },
  };
};

export const box = ([x0, y0, z0]: Vec3, [x1, y1, z1]: Vec3, without: readonly string[] = []): Face[] =>
  Object.entries({
    bottom: rectangle([x0, y0, z0], [0, y1 - y0, 0], [x1 - x0, 0, 0]),
    top: rectangle([x0, y0, z1], [x1 - x0, 0, 0], [0, y1 - y0, 0]),
    front: rectangle([x0, y0, z0], [x1 - x0, 0, 0], [0, 0, z1 - z0]),
    back: rectangle([x0, y1, z0], [0, 0, z1 - z0], [x1 - x0, 0, 0]),
    left: rectangle([x0, y0, z0], [0, 0, z1 - z0], [0, y1 - y0, 0]),
    right: rectangle([x1, y0, z0], [0, y1 - y0, 0], [0, 0, z1 - z0]),
  }).flatMap(([name, face]) => (without.includes(name) ? [] : [face]));

/** Wall of a cylinder along z; `side` 1 outward, −1 the wall of a hole. */
export const wall = (x: number, y: number, radius: number, z0: number, z1: number, side: 1 | -1): Face => ({
  area: 2 * PI * radius * (z1 - z0),
  at: (random) => {
    const a = 2 * PI * random.next();
    const [c, s] = [Math.cos(a), Math.sin(a)];
    return [
      [x + radius * c, y + radius * s, z0 + (z1 - z0) * random.next()],
      [side * c, side * s, 0],
    ];
  },
});

/** Disk at a height with holes in it, facing up (1) or down (−1). */
export const disk = (
  radius: number,
  z: number,
  up: 1 | -1,
  holes: readonly (readonly [x: number, y: number, radius: number])[] = [],
): Face => ({
  area: PI * radius * radius,
  at: (random) => {
    const r = radius * Math.sqrt(random.next());
    const a = 2 * PI * random.next();
    const [x, y] = [r * Math.cos(a), r * Math.sin(a)];
    if (holes.some(([hx, hy, hr]) => Math.hypot(x - hx, y - hy) < hr)) return undefined;
    return [
      [x, y, z],
      [0, 0, up],
    ];
  },
});

/** A cloud with normals over faces: so many points a mm², and noise along the normals, mm. */
export function scanOf(
  faces: readonly Face[],
  name: string,
  { density = 1.5, noise = 0.03, seed = 1 }: { density?: number; noise?: number; seed?: number } = {},
): Scan {
  const random = seededRandom(seed);
  const positions: number[] = [];
  const normals: number[] = [];
  for (const face of faces)
    for (let k = 0; k < face.area * density; k++) {
      const found = face.at(random);
      if (!found) continue;
      const [place, normal] = found;
      const off = noise * random.normal();
      for (let c = 0; c < 3; c++) positions.push(place[c]! + off * normal[c]!);
      normals.push(...normal);
    }
  return createScan({ positions, normals, name });
}

const round = (k: number, count: number, at: number, radius: number) => {
  const a = (2 * PI * k) / count;
  return [at * Math.cos(a), at * Math.sin(a), radius] as const;
};

/** A plain flange: both faces alike, six holes alike. */
export const flange = (): Face[] => {
  const holes = Array.from({ length: 6 }, (_, k) => round(k, 6, 42, 7));
  const all = [...holes, [0, 0, 20] as const];
  return [
    disk(60, 6, 1, all),
    disk(60, -6, -1, all),
    wall(0, 0, 60, -6, 6, 1),
    wall(0, 0, 20, -6, 6, -1),
    ...holes.map(([x, y, r]) => wall(x, y, r, -6, 6, -1)),
  ];
};

export const cube = (): Face[] => box([-25, -25, -25], [25, 25, 25]);
export const cylinder = (): Face[] => [disk(20, 45, 1), disk(20, -45, -1), wall(0, 0, 20, -45, 45, 1)];
/** A base of which the underside was not seen, with two feet alike. */
export const twoFeet = (): Face[] => [
  ...box([-60, -20, 0], [60, 20, 12], ['bottom']),
  ...box([-50, -14, 12], [-26, 14, 30], ['bottom']),
  ...box([26, -14, 12], [50, 14, 30], ['bottom']),
];
/** A bracket without any symmetry. */
export const bracket = (): Face[] => [
  ...box([0, 0, 0], [100, 60, 10]),
  ...box([0, 0, 10], [12, 60, 70], ['bottom']),
  ...box([12, 0, 10], [60, 9, 40], ['bottom', 'left']),
  wall(70, 35, 12, 10, 35, 1),
];

/** A pose drawn evenly over all rotations (unit quaternions), and far away: column-major 4×4. */
export function anyPose(random: Random, reach = 500): Float64Array {
  const q = [random.normal(), random.normal(), random.normal(), random.normal()];
  const long = Math.hypot(...q);
  const [w, x, y, z] = q.map((v) => v / long) as [number, number, number, number];
  const shift = () => reach * random.normal();
  // biome-ignore format: one column of the matrix a line
  return Float64Array.of(
    1 - 2 * (y * y + z * z), 2 * (x * y + z * w), 2 * (x * z - y * w), 0,
    2 * (x * y - z * w), 1 - 2 * (x * x + z * z), 2 * (y * z + x * w), 0,
    2 * (x * z + y * w), 2 * (y * z - x * w), 1 - 2 * (x * x + y * y), 0,
    shift(), shift(), shift(), 1,
  );
}

export const posed = (scan: Scan, pose: Float64Array, name = 'next.ply'): Scan => ({
  ...transformScan(scan, pose),
  name,
});

export const under = (m: ArrayLike<number>, [x, y, z]: Vec3): Vec3 => [
  m[0]! * x + m[4]! * y + m[8]! * z + m[12]!,
  m[1]! * x + m[5]! * y + m[9]! * z + m[13]!,
  m[2]! * x + m[6]! * y + m[10]! * z + m[14]!,
];

/** How far a move and then a pose are from leaving all where it was: mm at a place, and the turn in degrees. */
export function offTruth(
  move: ArrayLike<number>,
  pose: ArrayLike<number>,
  place: Vec3,
): readonly [mm: number, degrees: number] {
  const [x, y, z] = under(move, under(pose, place));
  // Frobenius norm of R − 1 is 2·√2·sin(angle / 2).
  let square = 0;
  for (let i = 0; i < 3; i++)
    for (let j = 0; j < 3; j++) {
      let sum = i === j ? -1 : 0;
      for (let k = 0; k < 3; k++) sum += move[i + 4 * k]! * pose[k + 4 * j]!;
      square += sum * sum;
    }
  const degrees = (2 * Math.asin(Math.min(1, Math.sqrt(square / 8))) * 180) / PI;
  return [Math.hypot(x - place[0], y - place[1], z - place[2]), degrees];
}
