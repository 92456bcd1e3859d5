import { FettleError } from '../error.js';
import { failedStep, inStep, type StepRefusal } from './failed-step.js';
import type { Plan, Step } from './plan.js';
import type { RunOptions } from './results.js';
import type { Context, Done } from './step/context.js';
import { kindOfStep, stepReferences } from './steps.js';

/** What a step came to. */
export type Made = { readonly done: Done } | { readonly error: unknown };

/** Ids of the earlier steps a step rests on. */
export const idsOf = (step: Step): string[] => stepReferences(step).filter((id) => id !== 'all');

/**
 * Every step in order, each on what those before it gave. After a step that fails it goes on with those that do not rest on it.
 *
 * @param come carries a step out
 * @returns the steps that gave nothing, in plan order
 */
export function fold(
  { steps }: Plan,
  context: Context,
  come: (step: Step) => Made,
  options: RunOptions,
): StepRefusal[] {
  const { scan } = context;
  const refusals = new Map<string, StepRefusal>();
  const refuse = (step: Step, refusal: StepRefusal): void => {
    refusals.set(step.id, refusal);
    options.onFailed?.(failedStep(step, refusal));
    if (options.stopAtFault && !refusal.leftOut) throw refusal.error;
  };
  const refused = (id: string): boolean => refusals.has(id);
  let unprepared: string | undefined;
  for (const [index, step] of steps.entries()) {
    const { id } = step;
    if (options.signal?.aborted) throw new FettleError('aborted', `${scan.name}: stopped before step ${id}.`);
    options.onStep?.({ id, step: step.step, index, count: steps.length });
    if (refused(id)) continue;
    const waitsFor = gravest(
      [...(unprepared === undefined ? [] : [unprepared]), ...idsOf(step).filter(refused)],
      refusals,
    );
    const made = waitsFor === undefined ? come(step) : undefined;
    if (made !== undefined && 'done' in made) {
      context.add(made.done);
      for (const { step: later, error } of foreseen(id, steps.slice(index + 1), context))
        refuse(later, failing(later, error));
    } else refuse(step, made ? failing(step, made.error) : waiting(step, refusals.get(waitsFor!)!));
    if (step.step === 'prepare' && refused(id)) unprepared ??= id;
  }
  const last = steps.findLast((step) => step.step === 'frame');
  const missing = last && refusals.get(last.id);
  if (missing)
    for (const step of steps) {
      if (refused(step.id) || !kindOfStep(step).needsLastFrame?.(step)) continue;
      context.takeBack(step.id);
      refuse(step, waiting(step, missing));
    }
  return steps.flatMap(({ id }) => refusals.get(id) ?? []);
}

/** Of the steps that rest on one just done those that are bound to fail. What comes after the scan is changed is not looked at. */
function foreseen(
  id: string,
  after: readonly Step[],
  context: Context,
): { readonly step: Step; readonly error: unknown }[] {
  const change = after.findIndex(({ step }) => step === 'prepare');
  const found: { readonly step: Step; readonly error: unknown }[] = [];
  for (const step of change < 0 ? after : after.slice(0, change)) {
    const { foresee } = kindOfStep(step);
    const on = foresee === undefined ? [] : idsOf(step);
    if (!on.includes(id) || on.some((one) => context.done(one) === undefined)) continue;
    try {
      foresee?.(step, context);
    } catch (error) {
      found.push({ step, error: inStep(step.id, error) });
    }
  }
  return found;
}

/** Of the steps that are missing the first that fails the job, else the first. */
const gravest = (ids: readonly string[], refusals: ReadonlyMap<string, StepRefusal>): string | undefined =>
  ids.find((id) => !refusals.get(id)?.leftOut) ?? ids[0];

const failing = ({ id, optional }: Step, error: unknown): StepRefusal => ({
  id,
  error,
  ...(optional && { leftOut: true }),
});

const waiting = ({ id, optional }: Step, { id: waitsFor, leftOut }: StepRefusal): StepRefusal => ({
  id,
  error: new FettleError(
    'step-waits',
    leftOut
      ? `${id}: left out with "${waitsFor}", on which it rests.`
      : `${id}: waits for "${waitsFor}", which gave nothing. Mend that step, or take both out.`,
  ),
  waitsFor,
  ...((optional || leftOut) && { leftOut: true }),
});
