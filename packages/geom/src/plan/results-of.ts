import type { Warning } from '../error.js';
import type { Scan } from '../scan/scan.js';
import { failedStep, isComplete, type StepRefusal } from './failed-step.js';
import type { Plan } from './plan.js';
import type { Results } from './results.js';
import { jobSheet } from './sheet.js';
import type { Context } from './step/context.js';
import type { StepOutcome } from './step/outcome.js';

/** Warnings of steps that have no row on the job sheet, with the step's id in front. */
const ofRowless = (outcome: StepOutcome): readonly Warning[] =>
  outcome.kind === 'prepare' || outcome.kind === 'region' || outcome.kind === 'section'
    ? (outcome.warnings ?? []).map(({ code, message }) => ({ code, message: `${outcome.id}: ${message}` }))
    : [];

/** Fields of the plan's head that were read under an earlier name. */
const earlierNames = ({ scanner }: Plan): readonly Warning[] =>
  scanner?.perMetre === undefined
    ? []
    : [
        {
          code: 'earlier-name',
          message:
            'The plan names perMetre of its scanner: it was read as perMeter, its present name. Rename it in the plan.',
        },
      ];

/** What the steps of a plan gave, once all are done. */
export function resultsOf(plan: Plan, scan: Scan, context: Context, refusals: readonly StepRefusal[]): Results {
  const outcomes = plan.steps.flatMap(({ id }) => context.done(id)?.outcome ?? []);
  const failed = refusals.map((refusal) => failedStep(plan.steps.find(({ id }) => id === refusal.id)!, refusal));
  const sheet = jobSheet(plan, context);
  const last = outcomes.findLast((outcome) => outcome.kind === 'frame');
  const noise = plan.steps.flatMap(({ id }) => context.done(id)?.noise ?? []).at(-1);
  const isWithin = sheet.every((row) => row.values.every((value) => value.verdict !== 'outside'));
  return {
    title: plan.title,
    plan,
    scan: {
      name: scan.name,
      points: scan.positions.length / 3,
      triangles: (scan.triangles?.length ?? 0) / 3,
    },
    ...(noise && { noise }),
    ...(last && { frame: last.frame, frameId: last.id }),
    outcomes,
    failed,
    sheet,
    warnings: [...earlierNames(plan), ...outcomes.flatMap(ofRowless)],
    passed: isWithin && isComplete(failed),
  };
}
