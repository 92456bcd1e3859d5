import { FettleError } from '../../../error.js';
import type { KnownComparison } from '../../../fit/fit.js';
import type { Context, SizeTaken } from '../../step/context.js';
import type { ByHand, SizeByHand } from '../../step/fields.js';
import type { Reference } from '../../step/kind.js';
import type { FitStep } from './schema.js';

/** A number given, and the step that measured it. */
export type GivenSize =
  | ByHand
  | { readonly value: number; readonly uncertainty?: number; readonly prior?: boolean; readonly from: string };

/** A fit with the sizes it takes from steps by hand looked up. */
export type GivenFitStep = Omit<FitStep, 'known'> & {
  readonly known?: Omit<NonNullable<FitStep['known']>, 'radius' | 'diameter'> & {
    readonly radius?: GivenSize;
    readonly diameter?: GivenSize;
  };
};

const fields = ['radius', 'diameter'] as const;

/** The step a size comes from; undefined where the plan gives its number. */
function sourceOf(size: SizeByHand | undefined): string | undefined {
  if (typeof size === 'string') return size;
  return typeof size === 'object' && 'from' in size ? size.from : undefined;
}

/** The steps by hand a fit takes its size from. */
export const handSizeReferences = ({ known }: FitStep): readonly Reference[] =>
  fields.flatMap((field): Reference[] => {
    const size = known?.[field];
    const id = sourceOf(size);
    const path = typeof size === 'string' ? ['known', field] : ['known', field, 'from'];
    return id === undefined ? [] : [{ path, id, accepts: ['size'] }];
  });

/**
 * The step with its known sizes as numbers.
 *
 * @throws FettleError `bad-known` if a size without an uncertainty is to be weighed
 */
export function withHandSizes(step: FitStep, context: Context): GivenFitStep {
  const { known } = step;
  if (known === undefined) return step as GivenFitStep;
  const { radius, diameter, ...rest } = known;
  const given = (size: SizeByHand): GivenSize => {
    const from = sourceOf(size);
    if (from === undefined) return size as ByHand;
    const isPrior = typeof size === 'object' && size.prior === true;
    const measured = context.handSize(from);
    if (isPrior && measured.uncertainty === undefined)
      throw new FettleError(
        'bad-known',
        `"${from}" has no uncertainty to be weighed against the points by. State its ± in that step, or take it as it stands.`,
      );
    return { ...measured, from, ...(isPrior && { prior: true }) };
  };
  return {
    ...step,
    known: {
      ...rest,
      ...(radius !== undefined && { radius: given(radius) }),
      ...(diameter !== undefined && { diameter: given(diameter) }),
    },
  };
}

/** The sizes a fit took from steps by hand, each with what the points alone say of it. */
export function sizesTaken(step: FitStep, comparisons: readonly KnownComparison[] = []): [string, SizeTaken][] {
  const radius = comparisons.find(({ name }) => name === 'radius');
  if (radius === undefined) return [];
  return fields.flatMap((field): [string, SizeTaken][] => {
    const from = sourceOf(step.known?.[field]);
    if (from === undefined) return [];
    const free = (radius.free as number) * (field === 'diameter' ? 2 : 1);
    return [[from, { by: step.id, free, multiples: radius.multiples, factor: radius.factor }]];
  });
}
