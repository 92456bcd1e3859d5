import { dot } from '../../../math/vec3.js';
import { clampIndex, type Grid } from './grid.js';
import { alongNormal, type Laying, stretchOf } from './laying.js';
import type { PatchSource } from './patch-source.js';
import { RUN } from './sample.js';

/** By cell: points, sum of residuals, sum of places u v w. */
export interface CellSums {
  readonly count: Float64Array;
  readonly sum: Float64Array;
  readonly place: Float64Array;
}

/** Count points and sum their residuals and places by cell: of the `runs`, or all. Returns the sum of squared residuals. */
export function sumByCell(
  source: PatchSource,
  grid: Grid,
  laying: Laying,
  runs: Uint32Array | undefined,
  { count, sum, place }: CellSums,
): number {
  const { positions, used, residuals, at, axes } = source;
  const scale = 1 / grid.step;
  const [[ux, uy, uz], [vx, vy, vz], [wx, wy, wz]] = axes;
  const u0 = dot(at, axes[0]);
  const v0 = dot(at, axes[1]);
  const w0 = dot(at, axes[2]);
  const [lowU, lowV, lowW] = grid.corner;
  const { across, along, central, toFoot } = laying;
  const row = new Float64Array(source.parameters);
  const { nu, nv, nw } = grid;
  let squares = 0;
  const turns = runs ? runs.length : 1;
  for (let t = 0; t < turns; t++) {
    const from = runs ? runs[t] : 0;
    const to = runs ? from + RUN : residuals.length;
    for (let k = from; k < to; k++) {
      const p = 3 * (used ? used[k] : k);
      const x = positions[p];
      const y = positions[p + 1];
      const z = positions[p + 2];
      let u = x * ux + y * uy + z * uz - u0;
      let v = x * vx + y * vy + z * vz - v0;
      let w = x * wx + y * wy + z * wz - w0;
      if (toFoot) {
        source.gradient(k, row);
        u += alongNormal(residuals[k], row[0]);
        v += alongNormal(residuals[k], row[1]);
      }
      const stretch = stretchOf(laying, u, v, w);
      u *= across * stretch;
      v *= across * stretch;
      w *= along * (central > 0 ? stretch : 1);
      const iu = clampIndex((u - lowU) * scale, nu);
      const iv = clampIndex((v - lowV) * scale, nv);
      const iw = clampIndex((w - lowW) * scale, nw);
      const c = iu + nu * (iv + nv * iw);
      place[3 * c] += u;
      place[3 * c + 1] += v;
      place[3 * c + 2] += w;
      const r = residuals[k];
      count[c]++;
      sum[c] += r;
      squares += r * r;
    }
  }
  return squares;
}
