import { FettleError } from '../../error.js';
import type { Section } from '../section.js';
import { assemble } from './assemble.js';
import { innerPart } from './breaks.js';
import { fitChain } from './chain.js';
import type { Constraint } from './constraint.js';
import type { Profile } from './pieces.js';
import { outlineOf } from './places.js';
import { statedShapes } from './stated.js';
import { wavyOutline } from './waviness.js';

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
  const { pieces, noise, sigma, waves } = profile;
  for (const { kind, pieces: asked } of constraints)
    for (const k of asked)
      if (pieces[k] === undefined)
        throw new FettleError(
          'constraint-pieces',
          `${kind} of piece ${k}: the profile has pieces 0 to ${pieces.length - 1}. Name one of them.`,
        );
  const plain = outlineOf(section.polylines[index]);
  const outline = waves ? wavyOutline(plain, sigma, waves) : plain;
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
  const stated = statedShapes(after, sigma, waves, plain, inner, all);
  const whole = assemble(outline, { stretches, ...stated, constraints: all, noise, sigma, ...(waves && { waves }) });
  return {
    ...whole,
    strain: Math.max(0, after.loss - before.loss) / sigma ** 2,
    count: after.conditions - before.conditions,
  };
}

const inWords = ({ kind, pieces }: Constraint): string => `${kind} of ${pieces.join(' and ')}`;
