import { FettleError } from '../error.js';
import type { Step } from './plan.js';
import type { FailedStep, Results } from './results.js';

/** A step that gave nothing, with the error itself. */
export interface StepRefusal {
  readonly id: string;
  /** What it failed with, its id in front of the message; `step-waits` where it only waits for another. */
  readonly error: unknown;
  /** Id of the step that has to give something first. */
  readonly waitsFor?: string;
  /** It is optional, or rests on a step that is: the job does not fail by it. */
  readonly leftOut?: true;
}

/** A refusal as plain data. */
export const failedStep = ({ step }: Step, { id, error, waitsFor, leftOut }: StepRefusal): FailedStep => ({
  id,
  step,
  code: error instanceof FettleError ? error.code : 'unexpected',
  message: error instanceof Error ? error.message : `${id}: ${String(error)}`,
  ...(waitsFor !== undefined && { waitsFor }),
  ...(leftOut && { leftOut }),
});

/** An error of a step with the step's id in front; its code stays. */
export function inStep(id: string, error: unknown): unknown {
  if (!(error instanceof FettleError) || error.message.startsWith(`${id}: `)) return error;
  return new FettleError(error.code, `${id}: ${error.message}`, { cause: error });
}

/** Whether a plan is done as far as a person asked: what was left out is not missed. */
export const isComplete = (failed: readonly FailedStep[]): boolean => failed.every(({ leftOut }) => leftOut);

/** Results in which a step failed after all, as when its file is written. */
export function withFailedStep(results: Results, id: string, error: unknown): Results {
  const { steps } = results.plan;
  const step = steps.find((one) => one.id === id);
  if (step === undefined) throw error;
  const own = failedStep(step, { id, error: inStep(id, error), ...(step.optional && { leftOut: true }) });
  const place = (failed: FailedStep) => steps.findIndex((one) => one.id === failed.id);
  const failed = [...results.failed, own].sort((a, b) => place(a) - place(b));
  return {
    ...results,
    outcomes: results.outcomes.filter((outcome) => outcome.id !== id),
    failed,
    passed: results.passed && isComplete([own]),
  };
}
