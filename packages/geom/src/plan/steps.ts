import type { Step, StepName } from './plan.js';
import type { StepKind } from './step/kind.js';
import type { StepOutcome } from './step/outcome.js';
import { byHandStep } from './steps/by-hand.js';
import { constructStep } from './steps/construct.js';
import { deliverStep } from './steps/deliver.js';
import { fitStep } from './steps/fit.js';
import { frameStep } from './steps/frame.js';
import { measureStep } from './steps/measure.js';
import { prepareStep } from './steps/prepare.js';
import { regionStep } from './steps/region.js';
import { sectionStep } from './steps/section.js';

/** Every kind of step. A new one is a new file and a line here and in {@link stepSchemas}. */
export const stepKinds = {
  prepare: prepareStep,
  region: regionStep,
  fit: fitStep,
  construct: constructStep,
  frame: frameStep,
  section: sectionStep,
  measure: measureStep,
  'by-hand': byHandStep,
  deliver: deliverStep,
} satisfies Readonly<Record<StepName, StepKind<never, StepOutcome>>>;

/** The kind a step is of, for use with that step and what it gave. */
export const kindOfStep = (step: Step): StepKind<Step, StepOutcome> =>
  stepKinds[step.step] as unknown as StepKind<Step, StepOutcome>;

/** Ids of the earlier steps a step names. */
export const stepReferences = (step: Step): string[] =>
  kindOfStep(step)
    .references(step)
    .map(({ id }) => id);

/** The step with other ids in place of those it names. */
export function renameReferences(step: Step, newId: (id: string) => string): Step {
  const renamed = structuredCopy(step);
  for (const { path, id } of kindOfStep(step).references(step)) {
    const parent = path.slice(0, -1).reduce<unknown>((part, key) => (part as Parts)[key], renamed) as Parts;
    parent[path.at(-1)!] = newId(id);
  }
  return renamed;
}

type Parts = Record<string | number, unknown>;

const structuredCopy = (step: Step): Step => JSON.parse(JSON.stringify(step)) as Step;
