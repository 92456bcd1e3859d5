import { createScan, type Mesh, type Random, type Scan, seededRandom, type Vec3 } from '@fettle/geom';

/** A mesh from lists of points and of triangles. */
export const meshOf = (points: readonly Vec3[], triangles: readonly (readonly number[])[], name = 'solid'): Mesh =>
  createScan({ positions: points.flat(), triangles: triangles.flat(), name }) as Mesh;

/** A box with one corner in the origin: 8 points, 12 triangles that face outward. */
export function box(x: number, y: number, z: number): Mesh {
  const points: Vec3[] = [0, z].flatMap((h): Vec3[] => [
    [0, 0, h],
    [x, 0, h],
    [x, y, h],
    [0, y, h],
  ]);
  const quads = [
    [3, 2, 1, 0],
    [4, 5, 6, 7],
    [0, 1, 5, 4],
    [1, 2, 6, 5],
    [2, 3, 7, 6],
    [3, 0, 4, 7],
  ];
  return meshOf(
    points,
    quads.flatMap(([a, b, c, d]) => [
      [a, b, c],
      [a, c, d],
    ]),
    'box',
  );
}

/** Corners on the axes at unit distance. */
export const octahedron = (): Mesh =>
  meshOf(
    [
      [1, 0, 0],
      [0, 1, 0],
      [-1, 0, 0],
      [0, -1, 0],
      [0, 0, 1],
      [0, 0, -1],
    ],
    [
      [0, 1, 4],
      [1, 2, 4],
      [2, 3, 4],
      [3, 0, 4],
      [1, 0, 5],
      [2, 1, 5],
      [3, 2, 5],
      [0, 3, 5],
    ],
    'octahedron',
  );

/**
 * A profile of (radius, height) turned about z in `steps` steps. It runs counterclockwise in the (radius, height) half-plane; a
 * radius of 0 is one point on the axis; a `ring` closes on itself (a torus).
 */
export function revolve(profile: readonly (readonly [number, number])[], steps: number, ring = false): Mesh {
  const points: Vec3[] = [];
  const numbers = profile.map(([r, z]) => {
    const first = points.length;
    if (r === 0) points.push([0, 0, z]);
    else
      for (let i = 0; i < steps; i++)
        points.push([r * Math.cos((2 * Math.PI * i) / steps), r * Math.sin((2 * Math.PI * i) / steps), z]);
    return Array.from({ length: steps }, (_, i) => (r === 0 ? first : first + i));
  });
  const triangles: number[][] = [];
  for (let j = ring ? 0 : 1; j < profile.length; j++) {
    const from = numbers[(j + profile.length - 1) % profile.length];
    const to = numbers[j];
    for (let i = 0; i < steps; i++) {
      const k = (i + 1) % steps;
      if (from[i] !== from[k]) triangles.push([from[i], from[k], to[k]]);
      if (to[i] !== to[k]) triangles.push([from[i], to[k], to[i]]);
    }
  }
  return meshOf(points, triangles, 'turned');
}

export const cylinder = (radius: number, height: number, steps: number): Mesh =>
  revolve(
    [
      [0, 0],
      [radius, 0],
      [radius, height],
      [0, height],
    ],
    steps,
  );

export const sphere = (radius: number, steps: number): Mesh =>
  revolve(
    Array.from({ length: steps / 2 + 1 }, (_, i) => {
      const angle = (2 * Math.PI * i) / steps - Math.PI / 2;
      return [i === 0 || i === steps / 2 ? 0 : radius * Math.cos(angle), radius * Math.sin(angle)];
    }),
    steps,
  );

export const torus = (major: number, minor: number, steps: number): Mesh =>
  revolve(
    Array.from({ length: steps }, (_, i) => {
      const angle = (2 * Math.PI * i) / steps;
      return [major + minor * Math.cos(angle), minor * Math.sin(angle)];
    }),
    steps,
    true,
  );

/** A rotation by three angles about z, y and z with a shift, as a column-major 4×4 matrix. */
export function placement(a: number, b: number, c: number, shift: Vec3): number[] {
  const [ca, sa, cb, sb, cc, sc] = [a, b, c].flatMap((t) => [Math.cos(t), Math.sin(t)]);
  return [
    ...[ca * cb * cc - sa * sc, sa * cb * cc + ca * sc, -sb * cc, 0],
    ...[-ca * cb * sc - sa * cc, -sa * cb * sc + ca * cc, sb * sc, 0],
    ...[ca * sb, sa * sb, cb, 0],
    ...[...shift, 1],
  ];
}

/** Where a matrix puts a point, or a direction. */
export const put = (m: readonly number[], p: Vec3, weight = 1): Vec3 =>
  [0, 1, 2].map((k) => m[k] * p[0] + m[k + 4] * p[1] + m[k + 8] * p[2] + weight * m[k + 12]) as unknown as Vec3;

/** The same triangles in another order, each begun at another corner. */
export function shuffled(mesh: Mesh, seed: number): Mesh {
  const random = seededRandom(seed);
  const order = shuffle(
    Array.from({ length: mesh.triangles.length / 3 }, (_, i) => i),
    random,
  );
  const triangles = order.flatMap((t) => {
    const turn = random.below(3);
    return [0, 1, 2].map((k) => mesh.triangles[3 * t + ((k + turn) % 3)]);
  });
  return { ...mesh, triangles: Uint32Array.from(triangles) };
}

export function shuffle<T>(list: readonly T[], random: Random): T[] {
  const result = list.slice();
  for (let i = result.length - 1; i > 0; i--) {
    const j = random.below(i + 1);
    [result[i], result[j]] = [result[j], result[i]];
  }
  return result;
}

/** With some triangles turned over. */
export const flipped = (mesh: Mesh, isFlipped: (triangle: number) => boolean): Mesh => ({
  ...mesh,
  triangles: mesh.triangles.map((p, i, all) =>
    isFlipped(Math.floor(i / 3)) && i % 3 > 0 ? all[i % 3 === 1 ? i + 1 : i - 1] : p,
  ),
});

/** Without some triangles. */
export const without = (mesh: Mesh, isGone: (triangle: number) => boolean): Mesh => ({
  ...mesh,
  triangles: mesh.triangles.filter((_, i) => !isGone(Math.floor(i / 3))),
});

/** Every triangle with points of its own. */
export const unwelded = (mesh: Mesh): Mesh =>
  createScan({
    positions: Array.from(mesh.triangles).flatMap((p) => Array.from(mesh.positions.slice(3 * p, 3 * p + 3))),
    triangles: mesh.triangles.map((_, i) => i),
    name: mesh.name,
  }) as Mesh;

/** Two meshes side by side in one. */
export const together = (a: Mesh, b: Mesh): Mesh =>
  createScan({
    positions: [...a.positions, ...b.positions],
    triangles: [...a.triangles, ...b.triangles.map((p) => p + a.positions.length / 3)],
    name: 'both',
  }) as Mesh;

export const cloudOf = (scan: Scan): Scan => createScan({ positions: scan.positions, name: scan.name });
