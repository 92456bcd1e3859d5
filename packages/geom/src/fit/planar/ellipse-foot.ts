/** Where a point stands to an ellipse. */
export interface Foot {
  readonly distance: number;
  /** Of the nearest point, in the ellipse's axes. */
  readonly s: number;
  readonly t: number;
  /** Outward normal there. */
  readonly ns: number;
  readonly nt: number;
}

/**
 * Nearest point of the ellipse to (s, t), in its axes: on the normal through it, at the root of a function that falls
 * and is convex, so that Newton's steps from its left come down to it without fail.
 */
export function footOnEllipse(major: number, minor: number, s: number, t: number): Foot {
  const [a, b] = [major, minor];
  const [p, q] = [Math.abs(s), Math.abs(t)];
  const [aa, bb] = [a * a, b * b];
  let [x, y] = [0, 0];
  if (q > 0) {
    let root = Math.max(a * p - aa, b * q - bb);
    for (let step = 0; step < 100; step++) {
      const [i, j] = [(a * p) / (root + aa), (b * q) / (root + bb)];
      const value = i * i + j * j - 1;
      const slope = -2 * ((i * i) / (root + aa) + (j * j) / (root + bb));
      const next = root - value / slope;
      if (!(next > root)) break;
      root = next;
    }
    x = (aa * p) / (root + aa);
    y = (bb * q) / (root + bb);
  } else if (p * a < aa - bb) {
    x = (aa * p) / (aa - bb);
    y = b * Math.sqrt(Math.max(0, 1 - (x / a) ** 2));
  } else x = a;
  const steep = Math.hypot(x / aa, y / bb);
  const isOutside = (p / a) ** 2 + (q / b) ** 2 > 1;
  const sign = (c: number) => (c < 0 ? -1 : 1);
  return {
    distance: (isOutside ? 1 : -1) * Math.hypot(p - x, q - y),
    s: sign(s) * x,
    t: sign(t) * y,
    ns: (sign(s) * x) / aa / steep,
    nt: (sign(t) * y) / bb / steep,
  };
}
