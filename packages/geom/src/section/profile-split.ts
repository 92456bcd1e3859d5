import { addPoint, arcLoss, lineLoss, MOMENTS } from './profile-moments.js';
import type { Outline } from './profile-outline.js';

/** A stretch of consecutive points [from, to) that one shape holds. Past the end of a closed outline, indices run on. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
  readonly shape: 'line' | 'arc';
  /** Picked by hand: its place in the list of picked pieces. */
  readonly byHand?: number;
}

/**
 * Splits an outline into the chain of lines and arcs that minimizes
 *
 *     Σ over pieces ( weighted squared residuals / σ² + price of the piece's freedom )
 *
 * where the price is that of the Bayesian information criterion: ln n for each free number, two of a line, three of an
 * arc, one for the place of the break before it, less one where a line and an arc follow each other: they mostly do so in
 * tangency, which takes a freedom away. Whether they do is looked at afterwards, in {@link withoutDoubtfulArcs}. The minimum is found by dynamic programming over candidate breaks,
 * with starts that can never win again dropped (Killick, Fearnhead & Eckley, "Optimal detection of changepoints with a
 * linear computational cost", JASA 107 (2012)): exact over the candidates. Each break is then moved to the point between
 * its neighbors that suits both best, and each piece takes the shape that costs less there.
 *
 * Candidates stand every quarter of the shortest piece. Where that is more than a thousand, neighbors that one circle holds
 * as well as two are joined first, up to 1/600 of the outline (20,000 points: 3.3 s without, 0.1 s with).
 *
 * A closed outline is split twice: once from its first point to find a true break, for which candidates four times as far apart
 * will do where there are many, then from that break.
 */
export function splitOutline(outline: Outline, sigma: number, minimumPoints: number): Stretch[] {
  const n = outline.flat.length / 2;
  if (!outline.closed) return splitFrom(outline, 0, sigma, minimumPoints, MANY);
  const first = splitFrom(outline, 0, sigma, minimumPoints, MANY / 4);
  if (first.length < 2) return first;
  // The break farthest from where the first split had to begin: one near it may be pushed off its place.
  const apart = (s: Stretch) => Math.min(s.from, n - s.from);
  const turned = first.reduce((most, s) => (apart(s) > apart(most) ? s : most)).from;
  return splitFrom(outline, turned, sigma, minimumPoints, MANY).map((s) =>
    s.from >= n ? { ...s, from: s.from - n, to: s.to - n } : s,
  );
}

/**
 * Times the criterion's usual price. Breaks may stand anywhere, which the usual price allows for too little: rounded
 * rectangles with fillets of 2.2 to 10 mm, 0.05 mm noise, 0.2 mm spacing, 200 draws each, come out with the right pieces in
 * 97 to 98 % at 1, in all at 1.3 and 1.6; at 3 short fillets start to be taken for chamfers. Hexagons without fillets: 99.5 % at
 * 1.5, all at 1.8.
 */
const STRICTNESS = 1.8;

/**
 * Prices an arc has beside its numbers, given back by halves where it is tangent: where one arc among eight straight sides is
 * one too many, curvature needs more than the usual evidence. Plates with chamfers, 300 draws: 97.3 % without, all at 0.7.
 */
const CURVED = 0.7;

/** More candidate breaks than this are thinned. */
const MANY = 1000;

/** @param many places a thinned outline has to begin with, about */
function splitFrom(outline: Outline, start: number, sigma: number, minimumPoints: number, many: number): Stretch[] {
  const n = outline.flat.length / 2;
  const stride = Math.max(1, Math.floor(minimumPoints / 4));
  let nodes: number[] = [];
  for (let i = 0; i < n - stride; i += stride) nodes.push(start + i);
  nodes.push(start + n);
  if (nodes.length > MANY) nodes = thinned(outline, nodes, sigma, Math.ceil(n / (0.6 * many)));
  const stretches = bestChain(outline, nodes, sigma, minimumPoints);
  const reach = Math.max(2 * stride, Math.ceil(n / 600));
  for (let pass = 0; pass < 6; pass++) {
    const moved = settleBreaks(outline, stretches, reach, minimumPoints);
    const changed = chooseShapes(outline, stretches, sigma);
    if (!moved && !changed) break;
  }
  return stretches;
}

/** Leaves out breaks between neighbors that one circle holds as well as two: the gain is within what noise gives. */
function thinned(outline: Outline, nodes: readonly number[], sigma: number, longest: number): number[] {
  /** The gain of a needless break is χ² of three freedoms: over this once in a hundred. */
  const needless = 11.3 * sigma * sigma;
  let kept = [...nodes];
  for (;;) {
    const alone = kept.slice(1).map((to, k) => lossOf(outline, 'arc', kept[k], to));
    const next = [kept[0]];
    for (let k = 1; k < kept.length; k++) {
      const mergeable = k + 1 < kept.length && kept[k + 1] - kept[k - 1] <= longest && next.at(-1) === kept[k - 1];
      if (mergeable) {
        const gain = lossOf(outline, 'arc', kept[k - 1], kept[k + 1]) - alone[k - 1] - alone[k];
        if (gain < needless) continue;
      }
      next.push(kept[k]);
    }
    if (next.length === kept.length) return kept;
    kept = next;
  }
}

/** Gives each piece the shape that costs less beside its neighbors; true if any changed. */
function chooseShapes(outline: Outline, chain: Stretch[], sigma: number): boolean {
  const prices = pricesOf(outline.flat.length / 2);
  const neighbor = (k: number) => (outline.closed ? chain[(k + chain.length) % chain.length] : chain[k])?.shape;
  let changed = false;
  for (let k = 0; k < chain.length; k++) {
    const { from, to, shape } = chain[k];
    const costOf = (as: Stretch['shape']) => {
      const tangencies = chain.length < 2 ? 0 : [k - 1, k + 1].filter((o) => neighbor(o) && neighbor(o) !== as).length;
      return lossOf(outline, as, from, to) / (sigma * sigma) + prices[as] - tangencies * prices.tangency;
    };
    const better = costOf('arc') < costOf('line') ? 'arc' : 'line';
    if (better === shape) continue;
    chain[k] = { from, to, shape: better };
    changed = true;
  }
  return changed;
}

/** What a shape leaves over points [from, to): weighted sum of squared distances, mm². */
export function lossOf({ flat, weights }: Outline, shape: Stretch['shape'], from: number, to: number): number {
  const n = flat.length / 2;
  const m = new Float64Array(MOMENTS);
  const origin = 2 * (from % n);
  for (let p = from; p < to; p++) {
    const q = p % n;
    addPoint(m, 0, flat[2 * q] - flat[origin], flat[2 * q + 1] - flat[origin + 1], weights[q]);
  }
  return shape === 'arc' ? arcLoss(m, 0) : lineLoss(m, 0);
}

function bestChain(outline: Outline, nodes: readonly number[], sigma: number, minimumPoints: number): Stretch[] {
  const { flat, weights } = outline;
  const n = flat.length / 2;
  const per = 1 / (sigma * sigma);
  const prices = pricesOf(n);
  const count = nodes.length;
  const moments = new Float64Array(count * MOMENTS);
  /** Per node and shape (0 line, 1 arc): least cost of a chain that ends there with that shape, and how it came there. */
  const best = new Float64Array(2 * count).fill(Number.POSITIVE_INFINITY);
  const from = new Int32Array(2 * count);
  /** Per node and shape: least cost of the chain before a piece of that shape that starts there. */
  const opening = new Float64Array(2 * count).fill(Number.POSITIVE_INFINITY);
  opening[0] = opening[1] = 0;
  /** Node at which a start lost for good, to a piece of the same shape starting there. */
  const lostAt = new Int32Array(2 * count).fill(count);
  let open: number[] = [0];
  for (let j = 1; j < count; j++) {
    for (const i of open) {
      const at = i * MOMENTS;
      const origin = 2 * (nodes[i] % n);
      for (let p = nodes[j - 1]; p < nodes[j]; p++) {
        const q = p % n;
        addPoint(moments, at, flat[2 * q] - flat[origin], flat[2 * q + 1] - flat[origin + 1], weights[q]);
      }
      if (nodes[j] - nodes[i] < minimumPoints) continue;
      const asLine = opening[2 * i] + lineLoss(moments, at) * per + prices.line;
      const asArc = opening[2 * i + 1] + arcLoss(moments, at) * per + prices.arc;
      if (asLine < best[2 * j]) {
        best[2 * j] = asLine;
        from[2 * j] = i;
      }
      if (asArc < best[2 * j + 1]) {
        best[2 * j + 1] = asArc;
        from[2 * j + 1] = i;
      }
    }
    opening[2 * j] = Math.min(best[2 * j], best[2 * j + 1] - prices.tangency);
    opening[2 * j + 1] = Math.min(best[2 * j + 1], best[2 * j] - prices.tangency);
    const still: number[] = [];
    for (const i of open) {
      if (nodes[j] - nodes[i] >= minimumPoints) {
        const at = i * MOMENTS;
        if (lostAt[2 * i] === count && opening[2 * i] + lineLoss(moments, at) * per >= opening[2 * j])
          lostAt[2 * i] = j;
        if (lostAt[2 * i + 1] === count && opening[2 * i + 1] + arcLoss(moments, at) * per >= opening[2 * j + 1])
          lostAt[2 * i + 1] = j;
      }
      const lost = Math.max(lostAt[2 * i], lostAt[2 * i + 1]);
      if (lost === count || nodes[j] - nodes[lost] < minimumPoints) still.push(i);
    }
    open = still;
    open.push(j);
  }
  const chain: Stretch[] = [];
  let shape = best[2 * count - 1] < best[2 * count - 2] ? 1 : 0;
  for (let j = count - 1; j > 0; ) {
    const i = from[2 * j + shape];
    chain.push({ from: nodes[i], to: nodes[j], shape: shape ? 'arc' : 'line' });
    const other = 1 - shape;
    if (best[2 * i + other] - prices.tangency < best[2 * i + shape]) shape = other;
    j = i;
  }
  return chain.reverse();
}

/** What freedom costs: two numbers of a line, three of an arc, one for a break, one given back by a tangency. */
export function pricesOf(n: number): { line: number; arc: number; tangency: number } {
  const each = STRICTNESS * Math.log(Math.max(n, 8));
  return { line: 3 * each, arc: (4 + CURVED) * each, tangency: (1 + CURVED / 2) * each };
}

/** Moves each break by up to `reach` points to where both neighbors leave least; true if any moved. */
export function settleBreaks(outline: Outline, chain: Stretch[], reach: number, minimumPoints: number): boolean {
  let moved = false;
  for (let k = 0; k + 1 < chain.length; k++) {
    const before = chain[k];
    const after = chain[k + 1];
    const low = Math.max(before.from + minimumPoints, before.to - reach);
    const high = Math.min(after.to - minimumPoints, before.to + reach);
    if (high <= low) continue;
    const left = lossesAlong(outline, before.shape, before.from, low, high, 1);
    const right = lossesAlong(outline, after.shape, after.to - 1, high - 1, low - 1, -1);
    let place = before.to;
    let least = Number.POSITIVE_INFINITY;
    for (let b = low; b <= high; b++) {
      const loss = left[b - low] + right[high - b];
      if (loss < least) {
        least = loss;
        place = b;
      }
    }
    if (place === before.to) continue;
    chain[k] = { ...before, to: place };
    chain[k + 1] = { ...after, from: place };
    moved = true;
  }
  return moved;
}

/** What a shape leaves over the points from `anchor` up to each break from `first` to `last`, walking by `step`. */
function lossesAlong(
  { flat, weights }: Outline,
  shape: Stretch['shape'],
  anchor: number,
  first: number,
  last: number,
  step: 1 | -1,
): number[] {
  const n = flat.length / 2;
  const m = new Float64Array(MOMENTS);
  const loss = shape === 'arc' ? arcLoss : lineLoss;
  const losses: number[] = [];
  const origin = 2 * (anchor % n);
  for (let p = anchor; ; p += step) {
    if (step > 0 ? p >= first : p <= first) losses.push(loss(m, 0));
    if (p === last) return losses;
    const q = ((p % n) + n) % n;
    addPoint(m, 0, flat[2 * q] - flat[origin], flat[2 * q + 1] - flat[origin + 1], weights[q]);
  }
}
