import { type Section, seededRandom } from '@fettle/geom';

/** A stretch of a made-up outline: its length, and by the way along it the place and the outward normal there. */
export type Piece = readonly [
  length: number,
  at: (along: number) => readonly [x: number, y: number, nx: number, ny: number],
];

export const line = (x0: number, y0: number, x1: number, y1: number): Piece => {
  const long = Math.hypot(x1 - x0, y1 - y0);
  const [dx, dy] = [(x1 - x0) / long, (y1 - y0) / long];
  return [long, (t) => [x0 + dx * t, y0 + dy * t, dy, -dx]];
};

export const arc = (cx: number, cy: number, radius: number, fromDegrees: number, toDegrees: number): Piece => {
  const from = (fromDegrees * Math.PI) / 180;
  const sweep = ((toDegrees - fromDegrees) * Math.PI) / 180;
  return [
    Math.abs(sweep) * radius,
    (t) => {
      const a = from + (Math.sign(sweep) * t) / radius;
      return [cx + radius * Math.cos(a), cy + radius * Math.sin(a), Math.cos(a), Math.sin(a)];
    },
  ];
};

/**
 * Points every `spacing` along the pieces, from `offset` on, off by normal noise across, and by waves: white noise smeared along the
 * outline, of standard deviation `waves` and covariance exp(−d² / 2ℓ²) at distance d, ℓ being `alike` (mm).
 */
export function sectionOf(
  pieces: readonly Piece[],
  { spacing = 0.2, noise = 0, seed = 1, closed = true, offset = 0, waves = 0, alike = 2 },
): Section {
  const random = seededRandom(seed);
  const total = pieces.reduce((sum, [long]) => sum + long, 0);
  const n = Math.round(total / spacing);
  const flat = new Float64Array(2 * n);
  const points = new Float64Array(3 * n);
  const wave = waves > 0 ? wavesAlong(n, alike / (total / n), seed) : undefined;
  for (let i = 0; i < n; i++) {
    let t = ((i + 0.5) * (total / n) + offset) % total;
    let k = 0;
    while (k < pieces.length - 1 && t >= pieces[k][0]) t -= pieces[k++][0];
    const [x, y, nx, ny] = pieces[k][1](t);
    const off = noise * random.normal() + (wave ? waves * wave[i]! : 0);
    flat.set([x + off * nx, y + off * ny], 2 * i);
    points.set([x + off * nx, y + off * ny, 0], 3 * i);
  }
  return {
    plane: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] },
    origin: [0, 0, 0],
    x: [1, 0, 0],
    y: [0, 1, 0],
    polylines: [{ closed, points, flat }],
  };
}

/** Around a closed outline of n points, variance 1. White noise smeared by a Gaussian of width w has covariance exp(−d² / 4w²). */
function wavesAlong(n: number, alike: number, seed: number): Float64Array {
  const random = seededRandom(100000 + seed);
  const white = Float64Array.from({ length: n }, () => random.normal());
  const reach = Math.ceil(3.5 * alike);
  const weights = Array.from({ length: 2 * reach + 1 }, (_, k) => Math.exp(-(((k - reach) / alike) ** 2)));
  const size = Math.hypot(...weights);
  return white.map((_, i) =>
    weights.reduce((sum, w, k) => sum + (w * white[(((i + k - reach) % n) + n) % n]!) / size, 0),
  );
}

/** A counterclockwise polygon with its corners rounded. */
export function rounded(corners: readonly (readonly [number, number])[], r: number): Piece[] {
  const n = corners.length;
  const heading = corners.map(([x, y], i) => Math.atan2(corners[(i + 1) % n][1] - y, corners[(i + 1) % n][0] - x));
  const turns = heading.map((h, i) => (h - heading[(i + n - 1) % n] + 2 * Math.PI) % (2 * Math.PI));
  const cut = turns.map((t) => r * Math.tan(t / 2));
  return corners.flatMap(([x, y], i) => {
    const [c, s] = [Math.cos(heading[i]), Math.sin(heading[i])];
    const [x1, y1] = corners[(i + 1) % n];
    const j = (i + 1) % n;
    const end = [x1 - cut[j] * c, y1 - cut[j] * s] as const;
    const from = (heading[i] * 180) / Math.PI - 90;
    return [
      line(x + cut[i] * c, y + cut[i] * s, end[0], end[1]),
      arc(end[0] - r * s, end[1] + r * c, r, from, from + (turns[j] * 180) / Math.PI),
    ];
  });
}

/** A counterclockwise polygon with sharp corners. */
export const polygon = (corners: readonly (readonly [number, number])[]): Piece[] =>
  corners.map(([x, y], i) => line(x, y, ...corners[(i + 1) % corners.length]));

export const roundedRectangle = (w: number, h: number, r: number): Piece[] => [
  line(r, 0, w - r, 0),
  arc(w - r, r, r, -90, 0),
  line(w, r, w, h - r),
  arc(w - r, h - r, r, 0, 90),
  line(w - r, h, r, h),
  arc(r, h - r, r, 90, 180),
  line(0, h - r, 0, r),
  arc(r, r, r, 180, 270),
];
