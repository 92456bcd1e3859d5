import { type Chain, fitChain } from './profile-chain.js';
import type { Constraint } from './profile-constraint.js';
import { fitFlat } from './profile-fit.js';
import type { Outline } from './profile-outline.js';
import { type FlatShape, flatDistance, freedoms } from './profile-shape.js';
import type { Stretch } from './profile-split.js';
import { type Waves, wavyOutline } from './profile-waviness.js';

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
): FlatShape[] {
  if (!waves) return chain.shapes.map((s) => scaled(s, sigma));
  const sums = chain.shapes.map((s) => new Float64Array(freedoms(s) ** 2));
  let all = 0;
  for (const model of waves.models) {
    const outline = model.height > 0 ? wavyOutline(plain, model.white, model) : plain;
    // By a noise that drowns an arc's curvature, its points make a line.
    if (stretches.some(({ from, to, shape }, k) => fitFlat(outline, shape, from, to).kind !== chain.shapes[k].kind))
      continue;
    const fitted = fitChain(outline, stretches, constraints);
    if (!fitted) continue;
    all += model.chance;
    fitted.shapes.forEach((own, k) => {
      const about = seenFrom(scaled(own, model.white), chain.shapes[k]);
      for (let e = 0; e < about.length; e++) sums[k][e] += model.chance * about[e];
    });
  }
  if (all === 0) return chain.shapes.map((s) => scaled(s, sigma));
  return chain.shapes.map((s, k) => ({ ...s, covariance: sums[k].map((c) => c / all) }));
}

const scaled = (shape: FlatShape, sigma: number): FlatShape => ({
  ...shape,
  covariance: shape.covariance.map((c) => c * sigma * sigma),
});

/** Expected squares and products of a shape's departures from another that stands beside it, in the other's freedoms. */
function seenFrom(shape: FlatShape, other: FlatShape): Float64Array {
  const m = freedoms(shape);
  const out = Float64Array.from(shape.covariance);
  let off: number[];
  if (shape.kind === 'line' && other.kind === 'line') {
    const [dx, dy] = shape.direction;
    const [ox, oy] = other.direction;
    const s = dx * (other.point[0] - shape.point[0]) + dy * (other.point[1] - shape.point[1]);
    out[0] += 2 * s * out[1] + s * s * out[3];
    out[1] += s * out[3];
    out[2] = out[1];
    off = [-flatDistance(shape, ...other.point), ox * dy - oy * dx];
  } else if (shape.kind === 'arc' && other.kind === 'arc')
    off = [shape.center[0] - other.center[0], shape.center[1] - other.center[1], shape.radius - other.radius];
  else return out;
  for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) out[i * m + j] += off[i] * off[j];
  return out;
}
