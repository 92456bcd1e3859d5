import { addPoint, circleLoss, lineLoss, MOMENTS } from './moments.js';
import type { Outline } from './places.js';
import { lossBy, lossOf, walkFrom } from './sums.js';
import { beginWalk, passOn, STATE, takeIn } from './wave.js';

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
 * Where points err in waves, each stretch's squares are those that are left when the waves have been allowed for, with what the
 * waves' likelihood costs; the waves go on past a break, and a break is not charged for their beginning anew. Each stretch's waves are
 * still judged alone, so that starts are dropped a little later, and the minimum is near enough rather than exact.
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
  const { wave, gaps } = outline;
  const spacing = gaps.reduce((sum, g) => sum + g, 0) / n;
  const stride = Math.max(1, Math.floor(minimumPoints / 4), wave ? Math.floor(wave.length / (4 * spacing)) : 0);
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
  const prices = pricesOf(outline);
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

/** Starts that can never win again are looked for at every so manieth node. */
const LOOKED_THROUGH = 8;

function bestChain(outline: Outline, nodes: readonly number[], sigma: number, minimumPoints: number): Stretch[] {
  const { flat, weights, wave } = outline;
  const n = flat.length / 2;
  const per = 1 / (sigma * sigma);
  const prices = pricesOf(outline);
  const count = nodes.length;
  const moments = new Float64Array(count * MOMENTS);
  const states = new Float64Array(wave ? count * STATE : 0);
  /** Per start, what the waves have added to the cost. */
  const unsure = new Float64Array(count);
  const restart = wave ? restartCost(outline, sigma) : 0;
  /** Per node and shape (0 line, 1 arc): least cost of a chain that ends there with that shape, and how it came there. */
  const best = new Float64Array(2 * count).fill(Number.POSITIVE_INFINITY);
  const from = new Int32Array(2 * count);
  /** Per node and shape: least cost of the chain before a piece of that shape that starts there. */
  const opening = new Float64Array(2 * count).fill(Number.POSITIVE_INFINITY);
  opening[0] = opening[1] = 0;
  /** Node at which a start lost for good, to a piece of the same shape starting there. */
  const lostAt = new Int32Array(2 * count).fill(count);
  /** Per start, what its line and its arc left when last worked out: never more than they leave later. */
  const lines = new Float64Array(count);
  const arcs = new Float64Array(count);
  const take = (end: number, i: number, cost: number): void => {
    // Of equals the first, in whatever order they come.
    if (cost > best[end] || (cost === best[end] && i >= from[end])) return;
    best[end] = cost;
    from[end] = i;
  };
  let open: number[] = [0];
  const isOpen = new Uint8Array(count);
  isOpen[0] = 1;
  for (let j = 1; j < count; j++) {
    for (const i of open) {
      const at = i * MOMENTS;
      const origin = 2 * (nodes[i] % n);
      for (let p = nodes[j - 1]; p < nodes[j]; p++) {
        const q = p % n;
        const x = flat[2 * q] - flat[origin];
        const y = flat[2 * q + 1] - flat[origin + 1];
        if (!wave) {
          addPoint(moments, at, x, y, weights[q]);
          continue;
        }
        if (p === nodes[i]) beginWalk(states, i * STATE, wave);
        else passOn(states, i * STATE, wave, (q + n - 1) % n);
        const doubt = takeIn(states, i * STATE, moments, at, weights[q], 1, x, y, x * x + y * y);
        unsure[i] += doubt * wave.white * wave.white * per;
      }
    }
    const consider = (i: number): void => {
      if (nodes[j] - nodes[i] < minimumPoints) return;
      const line = opening[2 * i] + unsure[i] - restart + prices.line;
      const arc = opening[2 * i + 1] + unsure[i] - restart + prices.arc;
      const arcMay = arc + arcs[i] * per <= best[2 * j + 1];
      if (!arcMay && line + lines[i] * per > best[2 * j]) return;
      lines[i] = lineLoss(moments, i * MOMENTS);
      take(2 * j, i, line + lines[i] * per);
      if (!arcMay) return;
      arcs[i] = Math.min(lines[i], circleLoss(moments, i * MOMENTS));
      take(2 * j + 1, i, arc + arcs[i] * per);
    };
    // What won last mostly wins again; of what then costs more without its residuals they need not be worked out.
    for (const i of new Set([from[2 * j - 2], from[2 * j - 1]])) if (isOpen[i]) consider(i);
    for (const i of open) consider(i);
    opening[2 * j] = Math.min(best[2 * j], best[2 * j + 1] - prices.tangency);
    opening[2 * j + 1] = Math.min(best[2 * j + 1], best[2 * j] - prices.tangency);
    const still: number[] = [];
    for (const i of open) {
      if (nodes[j] - nodes[i] >= minimumPoints) {
        if (j % LOOKED_THROUGH === 0 && Math.max(lostAt[2 * i], lostAt[2 * i + 1]) === count) {
          lines[i] = lineLoss(moments, i * MOMENTS);
          arcs[i] = Math.min(lines[i], circleLoss(moments, i * MOMENTS));
        }
        const least = unsure[i] - 2 * restart;
        if (lostAt[2 * i] === count && opening[2 * i] + lines[i] * per + least >= opening[2 * j]) lostAt[2 * i] = j;
        if (lostAt[2 * i + 1] === count && opening[2 * i + 1] + arcs[i] * per + least >= opening[2 * j + 1])
          lostAt[2 * i + 1] = j;
      }
      const lost = Math.max(lostAt[2 * i], lostAt[2 * i + 1]);
      if (lost === count || nodes[j] - nodes[lost] < minimumPoints) still.push(i);
      else isOpen[i] = 0;
    }
    open = still;
    open.push(j);
    isOpen[j] = 1;
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

/** How much dearer a break is for the waves: of those after it nothing is known from before. */
export function restartCost(outline: Outline, sigma: number): number {
  const n = outline.weights.length;
  const half = n >> 1;
  const [whole, first, last] = [walkFrom(outline, 0, 1), walkFrom(outline, 0, 1), walkFrom(outline, half, 1)];
  for (let p = 0; p < n; p++) {
    whole.add();
    if (p < half) first.add();
    else last.add();
  }
  return Math.max(0, first.unsure() + last.unsure() - whole.unsure()) / (sigma * sigma);
}

/**
 * Noise that keeps alike over a length lets an outline have no more places to break at than there are such lengths in it, times
 * this. Outlines in waves of 0.1 mm alike over 2 mm, 20 draws each: a hexagon, a keyway and an angle section come out right in all
 * at 2, in 80, 90 and 85 % at 1.
 */
const PLACES = 2;

/** What freedom costs: two numbers of a line, three of an arc, one for a break, one given back by a tangency. */
export function pricesOf({ weights, gaps, wave }: Outline): { line: number; arc: number; tangency: number } {
  const total = gaps.reduce((sum, g) => sum + g, 0);
  const n = wave ? Math.min(weights.length, (PLACES * total) / wave.length) : weights.length;
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
  outline: Outline,
  shape: Stretch['shape'],
  anchor: number,
  first: number,
  last: number,
  step: 1 | -1,
): number[] {
  const walk = walkFrom(outline, anchor, step);
  const losses: number[] = [];
  for (let p = anchor; ; p += step) {
    if (step > 0 ? p >= first : p <= first) losses.push(lossBy(walk, shape));
    if (p === last) return losses;
    walk.add();
  }
}
