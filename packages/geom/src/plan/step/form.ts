import type { z } from 'zod';
import type { Constructed } from '../../construct/constructed.js';
import type { Feature, FeatureKind } from '../../feature/feature.js';
import type { Frame } from '../../math/frame.js';
import type { Context } from './context.js';
import type { Kind, Objection, Reference } from './kind.js';
import type { HolePattern, MeasureOutcome } from './outcome.js';
import type { Reading } from './reading.js';

/** Kinds of the operands of a step, in the order of its references; undefined where one's own step is in error. */
export type OperandKinds = readonly (Kind | undefined)[];

/** What the forms of steps that work on earlier results have in common: a form is told by the field it is named for. */
interface Form<S> {
  readonly schema: z.ZodType<S>;
  /** What it works on, in the order it is handed over. */
  operands(step: S): readonly Reference[];
  /** What schema and references leave open. */
  object?(step: S, kinds: OperandKinds): readonly Objection[];
}

/** One way to make a feature from features and frames. */
export interface ConstructForm<S> extends Form<S> {
  /** What it will be; undefined if that cannot be told or nothing can be made of these. */
  yields(step: S, kinds: OperandKinds): FeatureKind | undefined;
  /** A pure function of its operands: uncertainty is carried through it. */
  make(step: S, operands: readonly (Feature | Frame)[]): Constructed<Feature> & { readonly pattern?: HolePattern };
  inWords(step: S, made: Feature): string;
}

/** One way to measure features against each other. */
export interface MeasureForm<S> extends Form<S> {
  measure(step: S, context: Context): Measured;
  inWords(step: S): string;
}

export interface Measured extends Pick<MeasureOutcome, 'between' | 'warnings'> {
  readonly reading: Reading;
}

/** An operand at each place of a list field. */
export const each = (field: string, ids: readonly string[], accepts: readonly Kind[]): readonly Reference[] =>
  ids.map((id, i) => ({ path: [field, i], id, accepts }));

/** An operand in a field of its own; none where the field is absent. */
export const one = (field: string, id: string | undefined, accepts: readonly Kind[]): readonly Reference[] =>
  id === undefined ? [] : [{ path: [field], id, accepts }];
