import type { FailedStep, Results } from '@fettle/geom';
import { counted } from '../text/number-text.js';

/** A step that failed by itself, and those that wait for it. */
export interface ToldFailure {
  readonly failed: FailedStep;
  readonly waiting: readonly FailedStep[];
}

/** The failures of a run: those that fail the job, and what was left out because it is optional. */
export interface ToldFailures {
  readonly failures: readonly ToldFailure[];
  readonly leftOut: readonly ToldFailure[];
}

/** The steps that gave nothing, each with those that wait for it, directly or not. */
export function toldFailures(failed: readonly FailedStep[]): ToldFailures {
  const byId = new Map(failed.map((one) => [one.id, one]));
  const causeOf = (one: FailedStep): FailedStep => {
    const before = one.waitsFor === undefined ? undefined : byId.get(one.waitsFor);
    return before === undefined ? one : causeOf(before);
  };
  const told = failed
    .filter((one) => causeOf(one) === one)
    .map((one) => ({ failed: one, waiting: failed.filter((other) => other !== one && causeOf(other) === one) }));
  return {
    failures: told.filter((one) => !one.failed.leftOut),
    leftOut: told.filter((one) => one.failed.leftOut),
  };
}

/** `1 of 23 steps failed, and 4 wait for it`; empty where none fails the job. */
export function failedInWords({ failed, plan }: Pick<Results, 'failed' | 'plan'>): string {
  const { failures } = toldFailures(failed);
  if (failures.length === 0) return '';
  const waiting = failures.reduce((sum, one) => sum + one.waiting.length, 0);
  const wait = waiting === 1 ? 'waits' : 'wait';
  const them = failures.length === 1 ? 'it' : 'them';
  const rest = waiting === 0 ? '' : `, and ${waiting} ${wait} for ${them}`;
  return `${failures.length} of ${counted(plan.steps.length, 'step')} failed${rest}`;
}

/** What waits for a failed step, as a sentence; empty where nothing does. */
export function waitingInWords({ failed, waiting }: ToldFailure): string {
  if (waiting.length === 0) return '';
  return `${failed.leftOut ? 'Left out with it' : 'Waiting for it'}: ${waiting.map(({ id }) => id).join(', ')}.`;
}

/** What became of the job through a step, for a table: `failed`, `waits`, `left out`. */
export const fateOf = ({
  waitsFor,
  leftOut,
}: Pick<FailedStep, 'waitsFor' | 'leftOut'>): 'failed' | 'waits' | 'left out' =>
  leftOut ? 'left out' : waitsFor === undefined ? 'failed' : 'waits';
