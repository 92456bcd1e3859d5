import { createScan, frameOf, type Scan, seededRandom, type Vec3 } from '@fettle/geom';

/**
 * A made-up bracket, scanned: what the examples of packages/geom/PLANS.md and examples/COOKBOOK.md measure. Its sizes are plain numbers
 * in its own axes, mm: origin at the front left corner of its top, x to the right, y to the back, z up. The scanner's axes are others:
 * (x, y, z) of the bracket lies at (200 + z, 100 + x, 50 + y) of the scan.
 *
 * - top z = 0, 160 × 100; walls 25 down: front leaning back 2°, left side 1°, right and back square
 * - hole ⌀ 10 at (20, 20); bearing bore ⌀ 40 at (80, 50); around it holes ⌀ 6 on a circle ⌀ 64 at 0°, 60°, … 240°, none at 300°
 * - slot 30 × 8 at (35, 85) along x; pin holes ⌀ 4 at (10, 40), (25, 40), (40, 40), (10, 55), (25, 55), (40, 55)
 * - hole ⌀ 12 at (110, 12), its axis leaning 20° to the right
 * - pad 8 high, 38 × 36 about (137, 78); shaft ⌀ 20 at (140, 30), 2 to 42 up, a cone of half-angle 30° on it; ball ⌀ 16 at (20, 60, 20)
 */
export interface BracketOptions {
  /** Standard deviation, mm; each point errs by itself. Default 0.02. */
  readonly noise?: number;
  readonly seed?: number;
  /** Of the points, mm. Default 1. */
  readonly spacing?: number;
  /** Diameter of the bearing bore: a worn bracket has a larger one. Default 40. */
  readonly bore?: number;
}

const degree = Math.PI / 180;
const depth = 25;

/** A piece of its surface over s, t: where it is, and which way it faces, along ∂s × ∂t. */
interface Patch {
  readonly size: readonly [s: number, t: number];
  /** Whether it closes on itself along s. */
  readonly isClosed?: boolean;
  at(s: number, t: number): Vec3;
  facing(s: number, t: number): Vec3;
}

const face = (size: Patch['size'], corner: Vec3, s: Vec3, t: Vec3): Patch => {
  const normal: Vec3 = [s[1] * t[2] - s[2] * t[1], s[2] * t[0] - s[0] * t[2], s[0] * t[1] - s[1] * t[0]];
  return {
    size,
    at: (a, b) => [corner[0] + a * s[0] + b * t[0], corner[1] + a * s[1] + b * t[1], corner[2] + a * s[2] + b * t[2]],
    facing: () => normal,
  };
};

/** A round wall about an axis that leans to the right; facing its axis where it is a hole. */
const round = (x: number, y: number, radius: number, from: number, to: number, isHole = true, lean = 0): Patch => ({
  size: [2 * Math.PI * radius, to - from],
  isClosed: true,
  at(s, t) {
    const [a, z] = [((isHole ? -1 : 1) * s) / radius, from + t];
    const out = radius * Math.cos(a);
    return [
      x + out * Math.cos(lean) + z * Math.sin(lean),
      y + radius * Math.sin(a),
      z * Math.cos(lean) - out * Math.sin(lean),
    ];
  },
  facing(s) {
    const a = ((isHole ? -1 : 1) * s) / radius;
    const [out, side] = isHole ? [-Math.cos(a), -Math.sin(a)] : [Math.cos(a), Math.sin(a)];
    return [out * Math.cos(lean), side, -out * Math.sin(lean)];
  },
});

/** Of a slot along x, clockwise around it from the right end of its back side; facing its inside. */
function slotWall(x: number, y: number, length: number, width: number): Patch {
  const [r, straight, end] = [width / 2, length - width, (Math.PI * width) / 2];
  const around = 2 * (straight + end);
  /** Middle of the end or foot on the centerline, and the direction out from there. */
  const outward = (s: number): readonly [foot: number, angle: number] => {
    const w = around - (s % around);
    if (w <= straight) return [straight / 2 - w, Math.PI / 2];
    if (w < straight + end) return [-straight / 2, Math.PI / 2 + (w - straight) / r];
    if (w <= 2 * straight + end) return [w - 1.5 * straight - end, -Math.PI / 2];
    return [straight / 2, -Math.PI / 2 + (w - 2 * straight - end) / r];
  };
  return {
    size: [around, depth],
    isClosed: true,
    at(s, t) {
      const [foot, a] = outward(s);
      return [x + foot + r * Math.cos(a), y + r * Math.sin(a), t - depth];
    },
    facing(s) {
      const [, a] = outward(s);
      return [-Math.cos(a), -Math.sin(a), 0];
    },
  };
}

const cone: Patch = {
  size: [20 * Math.PI, 8],
  isClosed: true,
  at(s, t) {
    const r = 10 - t * Math.sin(30 * degree);
    return [140 + r * Math.cos(s / 10), 30 + r * Math.sin(s / 10), 42 + t * Math.cos(30 * degree)];
  },
  facing: (s) => [
    Math.cos(s / 10) * Math.cos(30 * degree),
    Math.sin(s / 10) * Math.cos(30 * degree),
    Math.sin(30 * degree),
  ],
};

const ball: Patch = {
  size: [16 * Math.PI, 18],
  isClosed: true,
  at(s, t) {
    const [n, c] = [ball.facing(s, t), [20, 60, 20]];
    return [c[0]! + 8 * n[0], c[1]! + 8 * n[1], c[2]! + 8 * n[2]];
  },
  facing(s, t) {
    const [a, up] = [s / 8, (t - 8) / 8];
    return [Math.cos(up) * Math.cos(a), Math.cos(up) * Math.sin(a), Math.sin(up)];
  },
};

const patchesOf = (bore: number): readonly Patch[] => [
  face([160, 100], [0, 0, 0], [1, 0, 0], [0, 1, 0]),
  face([38, 36], [118, 60, 8], [1, 0, 0], [0, 1, 0]),
  face([160, depth], [160, 0, 0], [-1, 0, 0], [0, -Math.sin(2 * degree), -Math.cos(2 * degree)]),
  face([100, depth], [0, 0, 0], [0, 1, 0], [-Math.sin(1 * degree), 0, -Math.cos(1 * degree)]),
  face([100, depth], [160, 0, -depth], [0, 1, 0], [0, 0, 1]),
  face([160, depth], [160, 100, -depth], [-1, 0, 0], [0, 0, 1]),
  round(20, 20, 5, -depth, 0),
  round(80, 50, bore / 2, -depth, 0),
  ...[0, 60, 120, 180, 240].map((a) =>
    round(80 + 32 * Math.cos(a * degree), 50 + 32 * Math.sin(a * degree), 3, -depth, 0),
  ),
  ...[40, 55].flatMap((y) => [10, 25, 40].map((x) => round(x, y, 2, -depth, 0))),
  round(110, 12, 6, -depth, -2.5, true, 20 * degree),
  slotWall(35, 85, 30, 8),
  round(140, 30, 10, 2, 42, false),
  cone,
  ball,
];

export function scanBracket({ noise = 0.02, seed = 1, spacing = 1, bore = 40 }: BracketOptions = {}): Scan {
  const random = seededRandom(seed);
  const axes = frameOf([200, 100, 50], [0, 1, 0], [0, 0, 1]);
  const [positions, triangles]: [number[], number[]] = [[], []];
  for (const { size, at, facing, isClosed } of patchesOf(bore)) {
    const [m, n] = size.map((length) => Math.max(8, Math.round(length / spacing))) as [number, number];
    const first = positions.length / 3;
    const columns = isClosed ? m : m + 1;
    for (let i = 0; i < columns; i++)
      for (let j = 0; j <= n; j++) {
        const [s, t] = [(size[0] * i) / m, (size[1] * j) / n];
        const [p, d, e] = [at(s, t), facing(s, t), noise * random.normal()];
        positions.push(...axes.toScan([p[0] + e * d[0], p[1] + e * d[1], p[2] + e * d[2]]));
      }
    for (let i = 0; i < m; i++)
      for (let j = 0; j < n; j++) {
        const p = first + i * (n + 1) + j;
        const q = first + ((i + 1) % columns) * (n + 1) + j;
        triangles.push(p, q, q + 1, p, q + 1, p + 1);
      }
  }
  return createScan({ positions, triangles, name: 'bracket.ply' });
}
