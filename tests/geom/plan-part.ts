import { createScan, type Frame, frameOf, type Scan, seededRandom, type Vec3 } from '@fettle/geom';

/**
 * A block with everything a plan measures, as a mesh of separate patches whose true places are plain numbers in the block's own
 * axes: top z = 0 over x 0…120, y 0…80; front leaning back 3° from the edge y = 0; side leaning 2° from the edge x = 0; a foot at
 * z = -25; a hole ⌀ 16 at (40, 30), 20 deep; a ball ⌀ 24 at (90, 50, 30). Noise is normal and independent.
 */
export interface Part {
  readonly scan: Scan;
  /** The block's axes in the scan's. */
  readonly axes: Frame;
}

const degrees = Math.PI / 180;

export function part({ noise = 0, seed = 1, step = 2 } = {}): Part {
  const random = seededRandom(seed);
  const axes = frameOf([310, -120, 640], [0.8, 0.6, 0], [-0.36, 0.48, 0.8]);
  const positions: number[] = [];
  const triangles: number[] = [];
  const normals: number[] = [];
  /** A patch over (s, t), facing where ∂s × ∂t does. */
  const patch = (a: number, b: number, at: (s: number, t: number) => Vec3, normal: (s: number, t: number) => Vec3) => {
    const [m, n] = [Math.max(2, Math.round(a / step)), Math.max(2, Math.round(b / step))];
    const first = positions.length / 3;
    for (let i = 0; i <= m; i++)
      for (let j = 0; j <= n; j++) {
        const [s, t] = [(a * i) / m, (b * j) / n];
        const d = normal(s, t);
        const e = noise * random.normal();
        const p = at(s, t);
        positions.push(...axes.toScan([p[0] + e * d[0], p[1] + e * d[1], p[2] + e * d[2]]));
        normals.push(...[0, 1, 2].map((k) => d[0] * axes.x[k] + d[1] * axes.y[k] + d[2] * axes.z[k]));
      }
    for (let i = 0; i < m; i++)
      for (let j = 0; j < n; j++) {
        const p = first + i * (n + 1) + j;
        triangles.push(p, p + n + 1, p + n + 2, p, p + n + 2, p + 1);
      }
  };
  const front = 3 * degrees;
  const side = 2 * degrees;
  patch(
    120,
    80,
    (s, t) => [s, t, 0],
    () => [0, 0, 1],
  );
  patch(
    120,
    20,
    (s, t) => [s, Math.sin(front) * (t - 20), Math.cos(front) * (t - 20)],
    () => [0, -Math.cos(front), Math.sin(front)],
  );
  patch(
    20,
    80,
    (s, t) => [-Math.sin(side) * s, t, -Math.cos(side) * s],
    () => [-Math.cos(side), 0, Math.sin(side)],
  );
  patch(
    40,
    40,
    (s, t) => [60 + s, 30 + t, -25],
    () => [0, 0, 1],
  );
  // The wall of the hole faces its axis.
  patch(
    16 * Math.PI,
    20,
    (s, t) => [40 + 8 * Math.cos(s / 8), 30 - 8 * Math.sin(s / 8), t - 20],
    (s) => [-Math.cos(s / 8), Math.sin(s / 8), 0],
  );
  patch(
    24 * Math.PI,
    15,
    (s, t) => {
      const [a, z] = [s / 12, (t - 5) / 12];
      return [90 + 12 * Math.cos(z) * Math.cos(a), 50 + 12 * Math.cos(z) * Math.sin(a), 30 + 12 * Math.sin(z)];
    },
    (s, t) => {
      const [a, z] = [s / 12, (t - 5) / 12];
      return [Math.cos(z) * Math.cos(a), Math.cos(z) * Math.sin(a), Math.sin(z)];
    },
  );
  return { scan: createScan({ positions, triangles, normals, name: 'block.ply' }), axes };
}
