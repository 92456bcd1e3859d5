import { createScan, type Scan } from '@fettle/geom';

/** Faces of a cube, each a patch of its own, in this order. */
export const faces = ['top', 'bottom', 'front', 'back', 'left', 'right'] as const;
export type Face = (typeof faces)[number];

/** A closed cube from (0, 0, 0) to (100, 100, 100) mm, n × n cells a face, and the points of each face. */
export function cube(n = 10): { scan: Scan; points: Record<Face, Uint32Array> } {
  const positions: number[] = [];
  const triangles: number[] = [];
  const points = {} as Record<Face, Uint32Array>;
  // Corner and two edges whose cross product faces outward.
  const sides: Record<Face, readonly [readonly number[], readonly number[], readonly number[]]> = {
    top: [
      [0, 0, 100],
      [1, 0, 0],
      [0, 1, 0],
    ],
    bottom: [
      [0, 0, 0],
      [0, 1, 0],
      [1, 0, 0],
    ],
    front: [
      [0, 0, 0],
      [1, 0, 0],
      [0, 0, 1],
    ],
    back: [
      [0, 100, 0],
      [0, 0, 1],
      [1, 0, 0],
    ],
    left: [
      [0, 0, 0],
      [0, 0, 1],
      [0, 1, 0],
    ],
    right: [
      [100, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ],
  };
  for (const face of faces) {
    const [corner, u, v] = sides[face];
    const first = positions.length / 3;
    for (let i = 0; i <= n; i++)
      for (let j = 0; j <= n; j++)
        for (let k = 0; k < 3; k++) positions.push(corner[k]! + (100 * (i * u[k]! + j * v[k]!)) / n);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        const p = first + i * (n + 1) + j;
        triangles.push(p, p + n + 1, p + n + 2, p, p + n + 2, p + 1);
      }
    points[face] = Uint32Array.from({ length: (n + 1) ** 2 }, (_, i) => first + i);
  }
  return { scan: createScan({ positions, triangles, name: 'cube.ply' }), points };
}
