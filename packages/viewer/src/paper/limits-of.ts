import type { Limits, SheetRow, Step } from '@fettle/geom';

/** Steps whose one value has the limits, and steps that have them by the value's name. */
const hasOne = (step: Step): step is Extract<Step, { step: 'measure' | 'by-hand' }> =>
  step.step === 'measure' || step.step === 'by-hand';
const hasNamed = (step: Step): step is Extract<Step, { step: 'fit' | 'construct' | 'frame' }> =>
  step.step === 'fit' || step.step === 'construct' || step.step === 'frame';

/** Names of the values of a row that limits can be set on, in the row's order. */
export function limitNames(step: Step, row: SheetRow): readonly string[] {
  const names = row.values.map(({ name }) => name);
  if (hasOne(step)) return names.slice(0, 1);
  if (!hasNamed(step)) return [];
  return step.step === 'fit' ? [...new Set([...names, 'form', 'rms'])] : names;
}

export function limitsOf(step: Step, name: string): Limits | undefined {
  if (hasOne(step)) return step.limits;
  return hasNamed(step) ? step.limits?.[name] : undefined;
}

/** The step with other limits on a value; without any where neither end is given. */
export function withLimits(step: Step, name: string, { min, max }: Limits): Step {
  const limits = { ...(min !== undefined && { min }), ...(max !== undefined && { max }) };
  const isNone = min === undefined && max === undefined;
  if (hasOne(step)) {
    const { limits: _, ...rest } = step;
    return (isNone ? rest : { ...rest, limits }) as Step;
  }
  if (!hasNamed(step)) return step;
  const { limits: before, ...rest } = step;
  const { [name]: _, ...others } = before ?? {};
  const named = isNone ? others : { ...others, [name]: limits };
  return (Object.keys(named).length === 0 ? rest : { ...rest, limits: named }) as Step;
}
