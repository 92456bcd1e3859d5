import { FettleError } from '../error.js';
import type { Profile } from './profile.js';
import { assemble, shapesFor } from './profile-assemble.js';
import { innerPart } from './profile-breaks.js';
import { fitChain } from './profile-chain.js';
import type { Constraint } from './profile-constraint.js';
import { outlineOf } from './profile-outline.js';
import type { Section } from './section.js';

/** A profile with constraints asked for, and what they cost. */
export interface Constrained extends Profile {
  /** Squared standard uncertainties by which the fit grew worse: to be compared with `count`, as χ². */
  readonly strain: number;
  /** Number of independent conditions added. */
  readonly count: number;
}

/**
 * The profile with further constraints holding exactly: fitted again to its own points, whose rms show the cost in mm.
 *
 * @param section that the profile was made of
 * @param index which polyline of it
 * @throws FettleError `constraint-pieces` for a piece that is not there or not of the kind the constraint is for;
 * `constraints-conflict` where no outline holds them all
 */
export function constrain(
  profile: Profile,
  section: Section,
  index: number,
  constraints: readonly Constraint[],
): Constrained {
  const { pieces, noise, sigma } = profile;
  for (const { kind, pieces: asked } of constraints)
    for (const k of asked)
      if (pieces[k] === undefined)
        throw new FettleError(
          'constraint-pieces',
          `${kind} of piece ${k}: the profile has pieces 0 to ${pieces.length - 1}. Name one of them.`,
        );
  const outline = outlineOf(section.polylines[index]);
  const stretches = pieces.map(({ kind, from, to, byHand }) => ({
    from,
    to,
    shape: kind,
    ...(byHand !== undefined && { byHand }),
  }));
  const inner = stretches.map(innerPart);
  const all = [...profile.constraints, ...constraints];
  const before = fitChain(outline, inner, profile.constraints);
  const after = fitChain(outline, inner, all);
  if (!before || !after)
    throw new FettleError(
      'constraints-conflict',
      `The constraints cannot all hold: ${constraints.map(inWords).join(', ')}. Leave one out.`,
    );
  const whole = assemble(outline, { stretches, shapes: shapesFor(after, sigma), constraints: all, noise, sigma });
  return {
    ...whole,
    strain: Math.max(0, after.loss - before.loss) / sigma ** 2,
    count: after.conditions - before.conditions,
  };
}

const inWords = ({ kind, pieces }: Constraint): string => `${kind} of ${pieces.join(' and ')}`;
