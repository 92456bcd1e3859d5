import { innerPart } from './breaks.js';
import { shapeSums } from './fit.js';
import type { Outline } from './places.js';
import { type FlatShape, flatDistance } from './shape.js';
import { pricesOf, restartCost, type Stretch, settleBreaks } from './split.js';
import { lossOf } from './sums.js';
import { tangentChain } from './tangency.js';

/**
 * The stretches less the arcs that the benefit of the doubt gave: the split supposes that a line and an arc beside each other are
 * tangent, which makes an outline of corners dearer than one of lines and arcs of next to no curvature by turns. Arcs that the
 * fit does not keep tangent on both sides become lines where those cost less, at the split's prices and with a tangency counted
 * where it is kept; neighbors that one shape then holds as well as two become one.
 *
 * Trying every piece as the other shape was tried: of hexagons with fillets of a radius hard to tell from chamfers, the split
 * alone finds the right pieces in 99.5 %, after such a search in 95 %.
 */
export function withoutDoubtfulArcs(
  outline: Outline,
  stretches: readonly Stretch[],
  sigma: number,
  minimumPoints: number,
): Stretch[] {
  const n = outline.weights.length;
  const open = { ...outline, closed: false };
  let chain = [...stretches];
  for (let pass = 0; pass < stretches.length; pass++) {
    let changed = false;
    for (let k = 0; k < chain.length; k++) {
      if (chain[k].shape === 'line' || chain[k].byHand !== undefined) continue;
      const places = around(k, chain.length, outline.closed);
      const whole = unwrapped(
        places.map((p) => chain[p]),
        n,
      );
      const before = nearby(whole, places.indexOf(k));
      const after = before.map((s, i): Stretch => (places[i] === k ? { ...s, shape: 'line' } : s));
      settleBreaks(open, after, 2 * minimumPoints, minimumPoints);
      const tried = settled(open, after, sigma, minimumPoints);
      const asArc = [before, widened(before, places.indexOf(k), minimumPoints)].map((c) =>
        settled(open, c, sigma, minimumPoints),
      );
      const best = [...asArc, tried].reduce((b, c) => (c.cost < b.cost ? c : b));
      for (const [i, p] of places.entries()) {
        const from = i === 0 ? whole[i].from : best.chain[i].from;
        const to = i === places.length - 1 ? whole[i].to : best.chain[i].to;
        chain[p] = wrapped({ ...best.chain[i], from, to }, n);
      }
      if (best === tried) changed = true;
    }
    chain = merged(outline, chain, sigma);
    if (!changed) break;
  }
  return chain;
}

/** A piece given half the shortest piece's points of each neighbor: of a fillet the split may have seen no more than the middle. */
function widened(chain: readonly Stretch[], k: number, minimumPoints: number): Stretch[] {
  const by = (a: Stretch | undefined, meets: boolean) =>
    a && meets && a.byHand === undefined ? Math.max(0, Math.min(minimumPoints >> 1, a.to - a.from - minimumPoints)) : 0;
  const own = chain[k];
  const low = by(chain[k - 1], chain[k - 1]?.to === own.from);
  const high = by(chain[k + 1], chain[k + 1]?.from === own.to);
  return chain.map((s, i) => {
    if (i === k - 1) return { ...s, to: s.to - low };
    if (i === k) return { ...s, from: s.from - low, to: s.to + high };
    return i === k + 1 ? { ...s, from: s.from + high } : s;
  });
}

/** Neighbors of one shape as one piece, where that costs less. */
function merged(outline: Outline, stretches: readonly Stretch[], sigma: number): Stretch[] {
  const price = pricesOf(outline);
  const n = outline.weights.length;
  const restart = outline.wave ? restartCost(outline, 1) : 0;
  const chain = [...stretches];
  if (outline.closed && chain.length === 2 && chain.every((s) => s.byHand === undefined)) {
    // A line cannot be tangent to one circle at both its ends.
    const { from } = chain[0];
    const alone = chain.reduce((sum, s) => sum + lossOf(outline, s.shape, s.from, s.to) - restart, restart);
    const whole = lossOf(outline, 'arc', from, from + n);
    if ((whole - alone) / sigma ** 2 < price.line) return [{ from, to: from + n, shape: 'arc' }];
  }
  for (let k = 0; chain.length > 1 && k < chain.length - (outline.closed ? 0 : 1); ) {
    const j = (k + 1) % chain.length;
    const [a, b] = unwrapped([chain[k], chain[j]], n);
    const { from, shape } = a;
    const isOne = a.to === b.from && b.shape === shape && (a.byHand ?? b.byHand) === undefined;
    const alone = isOne ? lossOf(outline, shape, from, a.to) + lossOf(outline, shape, b.from, b.to) - restart : 0;
    if (!isOne || (lossOf(outline, shape, from, b.to) - alone) / sigma ** 2 >= price[shape]) {
      k++;
      continue;
    }
    chain[k] = { from, to: b.to, shape };
    chain.splice(j, 1);
    if (j < k) break;
  }
  return chain;
}

/** A piece's place and those of its neighbors, in order along the outline. */
function around(k: number, count: number, closed: boolean): number[] {
  const places = [k - 1, k, k + 1].map((p) => (closed ? (p + count) % count : p)).filter((p) => p >= 0 && p < count);
  return places.filter((p, i) => places.indexOf(p) === i);
}

/** Points of a neighbor that take part when a piece is tried. */
const NEARBY = 400;

/** A piece's neighbors no farther than they tell of it. */
const nearby = (chain: readonly Stretch[], k: number): Stretch[] =>
  chain.map((s, i) => {
    if (i < k) return { ...s, from: Math.max(s.from, s.to - NEARBY) };
    return i > k ? { ...s, to: Math.min(s.to, s.from + NEARBY) } : s;
  });

/** Each stretch where the one before it ends, or after. */
function unwrapped(stretches: readonly Stretch[], n: number): Stretch[] {
  let least = 0;
  return stretches.map((s) => {
    const laps = Math.max(0, Math.ceil((least - s.from) / n)) * n;
    least = s.to + laps;
    return { ...s, from: s.from + laps, to: s.to + laps };
  });
}

const wrapped = (s: Stretch, n: number): Stretch => {
  const laps = Math.floor(s.from / n) * n;
  return laps === 0 ? s : { ...s, from: s.from - laps, to: s.to - laps };
};

/**
 * Times the split's price of a tangency: what may be a fillet or a chamfer is a fillet. Hexagons of 12 mm with fillets of 3.5 mm,
 * 1,000 draws: right pieces in 99.0 % at 1, in 99.6 % at 1.2; with chamfers of 4.2 mm instead in all at either.
 */
const FILLET = 1.2;

/** What a chain costs at its best: fitted, its breaks moved to where the fitted shapes part, and fitted again. */
function settled(
  outline: Outline,
  start: readonly Stretch[],
  sigma: number,
  minimumPoints: number,
): { readonly chain: readonly Stretch[]; readonly cost: number } {
  const prices = pricesOf(outline);
  let chain = start;
  let best = { chain: start, cost: Number.POSITIVE_INFINITY };
  for (const leniency of [9, 9, 3, 1]) {
    const { shapes, constraints } = tangentChain(outline, chain.map(innerPart), sigma, leniency * prices.tangency);
    let cost = -constraints.length * FILLET * prices.tangency;
    for (const [k, { from, to, shape }] of chain.entries())
      cost += shapeSums(shapes[k], outline, from, to).loss / sigma ** 2 + prices[shape];
    if (cost < best.cost) best = { chain, cost };
    chain = partedBy(shapes, outline, chain, minimumPoints);
  }
  return best;
}

/** The stretches with each break where the shapes beside it, as they lie, leave least of their points. */
function partedBy(
  shapes: readonly FlatShape[],
  { flat, weights }: Outline,
  stretches: readonly Stretch[],
  minimumPoints: number,
): Stretch[] {
  const n = weights.length;
  const moved = [...stretches];
  const square = (shape: FlatShape, q: number) => weights[q] * flatDistance(shape, flat[2 * q], flat[2 * q + 1]) ** 2;
  for (let k = 0; k + 1 < moved.length; k++) {
    const [before, after] = [moved[k], moved[k + 1]];
    if (before.to !== after.from || (before.byHand ?? after.byHand) !== undefined) continue;
    let left = 0;
    let least = Number.POSITIVE_INFINITY;
    let place = before.to;
    for (let b = before.from + minimumPoints; b <= after.to - minimumPoints; b++) {
      if (left < least) {
        least = left;
        place = b;
      }
      left += square(shapes[k], b % n) - square(shapes[k + 1], b % n);
    }
    moved[k] = { ...before, to: place };
    moved[k + 1] = { ...after, from: place };
  }
  return moved;
}
