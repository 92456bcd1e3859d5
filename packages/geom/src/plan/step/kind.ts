import type { z } from 'zod';
import type { FeatureKind } from '../../feature/feature.js';
import type { Context, Done } from './context.js';
import type { StepOutcome } from './outcome.js';

/** What the id of a step stands for. */
export type Kind = FeatureKind | 'region' | 'section' | 'frame' | 'value' | 'size' | 'delivery' | 'preparation';

/** One mention of an earlier id in a step. */
export interface Reference {
  /** Where in the step it stands. */
  readonly path: readonly (string | number)[];
  readonly id: string;
  readonly accepts: readonly Kind[];
  /** True where the word `all` may stand for the entire scan. */
  readonly all?: boolean;
}

/** What is wrong with a field of a step that its schema cannot tell. */
export interface Objection {
  readonly path: readonly (string | number)[];
  readonly expected: string;
  readonly found: string;
}

/** What an earlier id stands for; undefined where its own step is in error. */
export type KindOf = (id: string) => Kind | undefined;

/** What the check of a plan knows of one kind of step. */
export interface StepCheck<S> {
  /** The forms of the step, by the field that tells each. */
  readonly forms: Readonly<Record<string, z.ZodType>>;
  /** The form told by none of its own fields but by one others have too. */
  readonly fallback?: string;
  references(step: S): readonly Reference[];
  /** What its id will stand for; undefined if that depends on a step in error or on a wrong combination. */
  yields(step: S, kindOf: KindOf): Kind | undefined;
  /**
   * Which earlier ids must not be used after this step, because it changes the scan: regions name points by number, and
   * everything has the scan's scale. Absent: nothing.
   */
  outdates?(step: S): 'nothing' | 'regions' | 'everything';
  /** What schema and references leave open. Called when both hold. */
  object?(step: S, kindOf: KindOf): readonly Objection[];
}

/** One kind of step: what it may say and what it does. */
export interface StepKind<S, O extends StepOutcome> extends StepCheck<S> {
  run(step: S, context: Context): Done<O>;
  /** Throws what `run` would, or what is made of its outcome would, once all it names is there: told while other steps are still to come. */
  foresee?(step: S, context: Context): void;
  /** Whether it needs the plan's last frame though it names none. */
  needsLastFrame?(step: S): boolean;
}

export type OutcomeOf<K extends StepOutcome['kind']> = Extract<StepOutcome, { kind: K }>;
