/** A place on one of the curves of a drawing. */
export interface CurvePlace {
  /** Which curve. */
  readonly curve: number;
  /** The piece of it, and how far along, 0 to 1. */
  readonly piece: number;
  readonly share: number;
  readonly at: readonly [number, number];
  /** From the place asked for, mm. */
  readonly off: number;
}

/** A curve of the drawing, xy xy …, mm. */
export interface DrawnCurve {
  readonly closed: boolean;
  readonly points: Float64Array;
}

const pieces = ({ points, closed }: DrawnCurve): number => Math.max(1, points.length / 2 - (closed ? 0 : 1));

/** The place on any curve nearest to another. */
export function nearestPlace(
  curves: readonly DrawnCurve[],
  [x, y]: readonly [number, number],
  only?: number,
): CurvePlace | undefined {
  let best: CurvePlace | undefined;
  curves.forEach((curve, c) => {
    if (only !== undefined && c !== only) return;
    const { points } = curve;
    const count = points.length / 2;
    for (let i = 0; i < pieces(curve); i++) {
      const j = (i + 1) % count;
      const [ax, ay] = [points[2 * i]!, points[2 * i + 1]!];
      const [dx, dy] = [points[2 * j]! - ax, points[2 * j + 1]! - ay];
      const share = Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy || 1)));
      const at = [ax + share * dx, ay + share * dy] as const;
      const off = Math.hypot(at[0] - x, at[1] - y);
      if (!best || off < best.off) best = { curve: c, piece: i, share, at, off };
    }
  });
  return best;
}

/** The stretch of a curve between two places on it, the shorter way where it closes: xy xy …. */
export function between(curve: DrawnCurve, a: CurvePlace, b: CurvePlace): Float64Array {
  const count = curve.points.length / 2;
  const forward = a.piece < b.piece || (a.piece === b.piece && a.share <= b.share);
  const [first, last] = forward ? [a, b] : [b, a];
  const inner = (from: CurvePlace, to: CurvePlace): number[] => {
    const found: number[] = [];
    if (from.piece === to.piece && from.share <= to.share) return found;
    for (let i = (from.piece + 1) % count; ; i = (i + 1) % count) {
      found.push(curve.points[2 * i]!, curve.points[2 * i + 1]!);
      if (i === to.piece) return found;
    }
  };
  const there = [...first.at, ...inner(first, last), ...last.at];
  if (!curve.closed) return Float64Array.from(there);
  if (lengthOf(there) <= total(curve) / 2) return Float64Array.from(there);
  return Float64Array.from([...last.at, ...inner(last, first), ...first.at]);
}

const lengthOf = (line: readonly number[]): number => {
  let sum = 0;
  for (let i = 2; i < line.length; i += 2) sum += Math.hypot(line[i]! - line[i - 2]!, line[i + 1]! - line[i - 1]!);
  return sum;
};

const total = ({ points, closed }: DrawnCurve): number =>
  lengthOf([...points, ...(closed ? [points[0]!, points[1]!] : [])]);

/** The box about a curve. */
export function boxOf({ points }: DrawnCurve): {
  readonly min: readonly [number, number];
  readonly max: readonly [number, number];
} {
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < points.length; i += 2) {
    left = Math.min(left, points[i]!);
    right = Math.max(right, points[i]!);
    low = Math.min(low, points[i + 1]!);
    high = Math.max(high, points[i + 1]!);
  }
  return { min: [left, low], max: [right, high] };
}
