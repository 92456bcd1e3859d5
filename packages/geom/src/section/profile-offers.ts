import type { Vec2 } from '../math/vec2.js';
import type { Profile } from './profile.js';
import { type Constraint, disagreement, disagreementUncertainty } from './profile-constraint.js';

/** A constraint the data do not speak against, and what it would cost. */
export interface Offer {
  readonly constraint: Constraint;
  /** Largest disagreement now, mm or radians, and its expanded uncertainty (95 %). */
  readonly disagreement: number;
  readonly uncertainty: number;
  /** How much the rms of the pieces concerned would rise together if they took all of it, mm, to first order. */
  readonly cost: number;
}

/**
 * Constraints within their uncertainty (coverage factor 2): parallel, square, equal radius, concentric, horizontal, vertical.
 *
 * @param level what counts as horizontal, in the section's axes; default: their x
 */
export function offers(profile: Profile, level?: Vec2): Offer[] {
  const shapes = profile.pieces.map((p) => p.shape);
  return possible(profile, level).flatMap((constraint): Offer[] => {
    const off = disagreement(constraint, shapes);
    const standard = disagreementUncertainty(constraint, shapes);
    if (!off.every((d, c) => Math.abs(d) <= 2 * standard[c])) return [];
    const worst = off.reduce((w, d, c) => (Math.abs(d) > Math.abs(off[w]) ? c : w), 0);
    const strain = off.reduce((sum, d, c) => sum + (standard[c] > 0 ? (d / standard[c]) ** 2 : 0), 0);
    const concerned = constraint.pieces.map((k) => profile.pieces[k]);
    const count = concerned.reduce((sum, p) => sum + p.to - p.from, 0);
    const squares = concerned.reduce((sum, p) => sum + p.rms ** 2 * (p.to - p.from), 0);
    const cost = Math.sqrt((squares + strain * profile.sigma ** 2) / count) - Math.sqrt(squares / count);
    return [{ constraint, disagreement: off[worst], uncertainty: 2 * standard[worst], cost }];
  });
}

/** Every constraint there could be, less those that hold already. */
function possible({ pieces, constraints }: Profile, level: Vec2 | undefined): Constraint[] {
  const found: Constraint[] = [];
  pieces.forEach(({ kind }, i) => {
    if (kind === 'line')
      for (const k of ['horizontal', 'vertical'] as const)
        found.push({ kind: k, pieces: [i], ...(level && { level }) });
    for (let j = i + 1; j < pieces.length; j++) {
      if (pieces[j].kind !== kind) continue;
      const kinds = kind === 'line' ? (['parallel', 'square'] as const) : (['equal-radius', 'concentric'] as const);
      for (const k of kinds) found.push({ kind: k, pieces: [i, j] });
    }
  });
  const nameOf = ({ kind, pieces: own }: Constraint) => `${kind} ${[...own].sort((a, b) => a - b).join(' ')}`;
  const held = new Set(constraints.map(nameOf));
  return found.filter((c) => !held.has(nameOf(c)));
}
