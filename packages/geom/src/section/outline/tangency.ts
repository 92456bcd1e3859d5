import { type Chain, fitChain } from './chain.js';
import { type Constraint, disagreement, disagreementUncertainty } from './constraint.js';
import { fitFlat } from './fit.js';
import type { Outline } from './places.js';
import type { Stretch } from './split.js';

/** Standard uncertainties by which free fits may miss tangency and the pieces still be tried as tangent. */
const TRIED_WITHIN = 8;

/**
 * Neighboring pieces fitted together, made tangent unless the data speak against it. All that may be are tied first; a tie that
 * costs more than `limit` (squared standard uncertainties) beside the others is given up, the dearest first, and the rest
 * fitted again. Judging each by its pieces' free fits was tried: short fillets fitted alone are too vague for that.
 */
export function tangentChain(
  outline: Outline,
  stretches: readonly Stretch[],
  sigma: number,
  limit: number,
): Chain & { readonly constraints: readonly Constraint[] } {
  let tried = candidates(outline, stretches, sigma);
  for (;;) {
    const constraints = tried.map((t) => t.constraint);
    const chain = fitChain(outline, stretches, constraints);
    const costs = chain ? costsOf(chain, constraints, sigma) : tried.map((t) => limit + 1 + t.deviation);
    const given = new Set(constraints.filter((_, c) => costs[c] > limit && isDearest(constraints, costs, c)));
    if (chain && given.size === 0) return { ...chain, constraints };
    tried = tried.filter((t) => !given.has(t.constraint));
  }
}

/**
 * What each tie costs: to first order beside the others, or its share of how much worse it makes its pieces than free ones. The
 * first is small where only a far move would undo it, as of a chamfer taken for an arc.
 */
function costsOf({ tensions, excess }: Chain, constraints: readonly Constraint[], sigma: number): number[] {
  const ties = excess.map((_, k) => constraints.filter((c) => (c.pieces as readonly number[]).includes(k)).length);
  return constraints.map(
    ({ pieces }, c) => Math.max(tensions[c], ...pieces.map((k) => excess[k] / ties[k])) / (sigma * sigma),
  );
}

/** No constraint it shares a piece with costs more. */
function isDearest(constraints: readonly Constraint[], costs: readonly number[], c: number): boolean {
  const own: readonly number[] = constraints[c].pieces;
  return constraints.every((o, i) => costs[i] <= costs[c] || !o.pieces.some((k) => own.includes(k)));
}

function candidates(outline: Outline, stretches: readonly Stretch[], sigma: number) {
  const shapes = stretches.map(({ from, to, shape }) => fitFlat(outline, shape, from, to));
  const last = stretches.length - (outline.closed && stretches.length > 1 ? 0 : 1);
  const found: { readonly constraint: Constraint; readonly deviation: number }[] = [];
  for (let i = 0; i < last; i++) {
    const j = (i + 1) % shapes.length;
    if (shapes[i].kind === 'line' && shapes[j].kind === 'line') continue;
    const constraint: Constraint = { kind: 'tangent', pieces: [i, j] };
    const [gap] = disagreement(constraint, shapes);
    const [standard] = disagreementUncertainty(constraint, shapes);
    const deviation = Math.abs(gap) / (standard * sigma);
    if (deviation <= TRIED_WITHIN) found.push({ constraint, deviation });
  }
  return found;
}
