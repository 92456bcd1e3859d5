import { atLeast } from '../../math/at-least.js';
import { chainCovariance } from './across.js';
import { type Chain, fitChain } from './chain.js';
import type { Constraint } from './constraint.js';
import { fitFlat } from './fit.js';
import type { Outline } from './places.js';
import { type FlatShape, flatDistance, freedoms } from './shape.js';
import type { Stretch } from './split.js';
import { type Waves, wavyOutline } from './waviness.js';

/**
 * A chain's shapes with the covariances of what noise the outline may have: of one noise alone, the fit's own; of several, the
 * fit's by each, and how far they lie apart, by their chances (the law of total variance). Taking the likeliest for true was tried:
 * where an outline is no longer than some twenty waves, intervals that claim 95 % covered 83 to 90.
 *
 * @param sigma standard deviation of the white noise the chain was fitted with
 */
export function statedShapes(
  chain: Chain,
  sigma: number,
  waves: Waves | undefined,
  plain: Outline,
  stretches: readonly Stretch[],
  constraints: readonly Constraint[],
): Stated {
  const { shapes } = chain;
  const plainly = { shapes: shapes.map((s) => scaled(s, sigma)) };
  if (!waves) return plainly;
  const next = (k: number) => (k + 1) % shapes.length;
  const sums = shapes.map((s) => new Float64Array(freedoms(s) ** 2));
  const across = shapes.map((s, k) => new Float64Array(freedoms(s) * freedoms(shapes[next(k)])));
  let all = 0;
  for (const model of waves.models) {
    const outline = model.height > 0 ? wavyOutline(plain, model.white, model) : plain;
    // By a noise that drowns an arc's curvature, its points make a line.
    if (stretches.some(({ from, to, shape }, k) => fitFlat(outline, shape, from, to).kind !== chain.shapes[k].kind))
      continue;
    const fitted = fitChain(outline, stretches, constraints);
    if (!fitted) continue;
    const covariance = model.height > 0 ? chainCovariance(outline, stretches, fitted.shapes, constraints) : undefined;
    if (model.height > 0 && !covariance) continue;
    const between = (a: number, b: number): Float64Array => {
      const [m, o] = [freedoms(shapes[a]), freedoms(shapes[b])];
      if (!covariance) return a === b ? fitted.shapes[a].covariance : new Float64Array(m * o);
      const { values, starts } = covariance;
      const size = starts.at(-1)!;
      const at = (e: number) => values[(starts[a] + Math.floor(e / o)) * size + starts[b] + (e % o)];
      const part = Float64Array.from({ length: m * o }, (_, e) => at(e));
      // What neighbors' common waves make surer is not counted: it holds where it is known which points are whose. Counting it, plates
      // with fillets of 8 mm, 50 draws in each of three kinds of waves, had 2 to 3 % fewer radii inside their stated 95 %.
      return a === b ? atLeast(part, fitted.shapes[a].covariance) : part;
    };
    all += model.chance;
    const views = fitted.shapes.map((own, k) => viewOf(own, shapes[k]));
    const add = (sum: Float64Array, a: number, b: number) => {
      const seen = seenFrom(between(a, b), views[a], views[b], model.white);
      for (let e = 0; e < seen.length; e++) sum[e] += model.chance * seen[e];
    };
    for (let k = 0; k < shapes.length; k++) {
      add(sums[k], k, k);
      add(across[k], k, next(k));
    }
  }
  if (all === 0) return plainly;
  const means = (values: Float64Array) => values.map((c) => c / all);
  return { shapes: shapes.map((s, k) => ({ ...s, covariance: means(sums[k]) })), across: across.map(means) };
}

/** Shapes with the covariances that are stated. */
export interface Stated {
  readonly shapes: readonly FlatShape[];
  /** In waves: covariance of each shape's freedoms (rows) with those of the next, of the last with the first. */
  readonly across?: readonly Float64Array[];
}

const scaled = (shape: FlatShape, sigma: number): FlatShape => ({
  ...shape,
  covariance: shape.covariance.map((c) => c * sigma * sigma),
});

/** A shape as seen from another that stands beside it. */
interface View {
  /** Its freedoms in those of the other: for a line, how far along from the one's point the other's lies. */
  readonly lever: number;
  /** How far it is off, in the other's freedoms. */
  readonly off: readonly number[];
}

function viewOf(shape: FlatShape, other: FlatShape): View {
  if (shape.kind === 'line' && other.kind === 'line') {
    const [dx, dy] = shape.direction;
    const [ox, oy] = other.direction;
    const lever = dx * (other.point[0] - shape.point[0]) + dy * (other.point[1] - shape.point[1]);
    return { lever, off: [-flatDistance(shape, ...other.point), ox * dy - oy * dx] };
  }
  if (shape.kind === 'arc' && other.kind === 'arc')
    return {
      lever: 0,
      off: [shape.center[0] - other.center[0], shape.center[1] - other.center[1], shape.radius - other.radius],
    };
  return { lever: 0, off: new Array(freedoms(other)).fill(0) };
}

/** Expected products of two shapes' departures from others beside them, in the others' freedoms. */
function seenFrom(covariance: Float64Array, a: View, b: View, sigma: number): Float64Array {
  const [m, o] = [a.off.length, b.off.length];
  const at = (i: number, j: number) => covariance[i * o + j];
  return Float64Array.from({ length: m * o }, (_, e) => {
    const [i, j] = [Math.floor(e / o), e % o];
    // A line's shift where the other's point lies is its own, and its turn by the lever.
    let sum = at(i, j);
    if (i === 0) sum += a.lever * at(1, j);
    if (j === 0) sum += b.lever * (at(i, 1) + (i === 0 ? a.lever * at(1, 1) : 0));
    return sum * sigma ** 2 + a.off[i] * b.off[j];
  });
}
