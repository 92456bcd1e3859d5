import { createScan, type Scan } from '@fettle/geom';

/** Meshes whose truth is plain numbers. */

/** A flat face z = 0 over x, y from 0 to `side` · 1 mm: `side`² squares of two triangles, points row by row. */
export function face(side: number): { positions: number[]; triangles: number[] } {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let j = 0; j <= side; j++) for (let i = 0; i <= side; i++) positions.push(i, j, 0);
  for (let j = 0; j < side; j++)
    for (let i = 0; i < side; i++) {
      const a = j * (side + 1) + i;
      triangles.push(a, a + 1, a + side + 1, a + 1, a + side + 2, a + side + 1);
    }
  return { positions, triangles };
}

/** The face with specks over it: single triangles with legs of 1 mm, 0.5 mm² each, 5 mm and more above. */
export function faceWithSpecks(side: number, specks: number): Scan {
  const { positions, triangles } = face(side);
  for (let s = 0; s < specks; s++) {
    const first = positions.length / 3;
    const z = 5 + 2 * s;
    positions.push(s, 0, z, s + 1, 0, z, s, 1, z);
    triangles.push(first, first + 1, first + 2);
  }
  const colors = positions.map((_, i) => i % 251);
  const normals = positions.map((_, i) => (i % 3 === 2 ? 1 : 0));
  return createScan({ positions, triangles, normals, colors, name: 'face.ply' });
}

/** A sphere about a center, its points on it exactly: `rings` rings of twice as many points, and the poles. */
export function ball(radius: number, rings: number, center = [0, 0, 0]): Scan {
  const around = 2 * rings;
  const positions = [center[0], center[1], center[2] - radius];
  for (let r = 1; r <= rings; r++)
    for (let i = 0; i < around; i++) {
      const polar = (Math.PI * r) / (rings + 1);
      const turn = (2 * Math.PI * (i + (r % 2) / 2)) / around;
      positions.push(
        center[0] + radius * Math.sin(polar) * Math.cos(turn),
        center[1] + radius * Math.sin(polar) * Math.sin(turn),
        center[2] - radius * Math.cos(polar),
      );
    }
  positions.push(center[0], center[1], center[2] + radius);
  const triangles: number[] = [];
  const at = (r: number, i: number) => 1 + (r - 1) * around + (((i % around) + around) % around);
  const last = positions.length / 3 - 1;
  for (let i = 0; i < around; i++) {
    triangles.push(0, at(1, i + 1), at(1, i), last, at(rings, i), at(rings, i + 1));
    for (let r = 1; r < rings; r++) {
      // Every other ring is turned by half a step.
      const up = r % 2 === 0 ? i : i + 1;
      triangles.push(at(r, i), at(r, i + 1), at(r + 1, up), at(r + 1, up - 1), at(r, i), at(r + 1, up));
    }
  }
  return createScan({ positions, triangles, name: 'ball.stl' });
}
