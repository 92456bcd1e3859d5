import { z } from 'zod';
import { FettleError } from '../error.js';
import { nearest } from '../math/nearest.js';
import { either, withArticle } from '../text/in-words.js';
import { faults, inWords, pathInWords } from './fault.js';
import { type Plan, planHead, type Step, type StepName } from './plan.js';
import { id as planId, reservedIds } from './step/fields.js';
import type { Kind, KindOf, Objection, Reference, StepCheck } from './step/kind.js';
import { stepKinds } from './steps.js';

const checks: Readonly<Record<StepName, StepCheck<never>>> = stepKinds;

/** One thing wrong with a plan. */
export interface PlanProblem {
  /** Id of the step, or its place (`step 3`) when it has no usable one; `plan` for the head. */
  readonly step: string;
  /** Field inside the step: `grow.from[0][2]`; empty when it is the step itself. */
  readonly field: string;
  readonly expected: string;
  readonly found: string;
}

/** A plan that cannot be run, with everything that is wrong with it. `code` is `plan-invalid`. */
export class PlanError extends FettleError {
  readonly problems: readonly PlanProblem[];

  /** @param name of the plan's file, to open the message */
  constructor(problems: readonly PlanProblem[], name?: string) {
    const lines = problems.map(
      ({ step, field, expected, found }) => `${step}${field && `, ${field}`}: expected ${expected}, found ${found}`,
    );
    const [first] = lines;
    super(
      'plan-invalid',
      lines.length === 1
        ? `${name ?? 'The plan'} is not valid. ${first}`
        : `${name ?? 'The plan'} has ${lines.length} errors.\n  ${lines.join('\n  ')}`,
    );
    this.problems = problems;
  }
}

const head = z.object(planHead);
const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
const meant = (word: string, words: Iterable<string>): string => {
  const candidate = nearest(word, words);
  return candidate === undefined ? '' : `; did you mean "${candidate}"?`;
};

/** The form of a step by the field that tells it, or what is wrong with that. */
function formOf(step: Record<string, unknown>, check: StepCheck<never>): { form: z.ZodType } | Objection {
  const names = Object.keys(check.forms);
  if (names.length === 1) return { form: check.forms[names[0]!]! };
  const own = names.filter((name) => name !== check.fallback);
  const present = own.filter((name) => step[name] !== undefined);
  if (present.length === 1) return { form: check.forms[present[0]!]! };
  if (present.length > 1) return { path: [], expected: `one of ${either(own)}`, found: present.join(' and ') };
  if (check.fallback !== undefined && step[check.fallback] !== undefined) return { form: check.forms[check.fallback]! };
  const others = Object.keys(step).filter((key) => !['step', 'id', 'note', 'optional'].includes(key));
  const guess = others.map((key) => ({ key, name: nearest(key, own) })).find(({ name }) => name !== undefined);
  return {
    path: [],
    expected: `one of ${either(names)}`,
    found: guess ? `"${guess.key}"; did you mean "${guess.name}"?` : others.length > 0 ? others.join(', ') : 'none',
  };
}

/** Ids that stand twice in one list: a thing has no distance from itself, and does not meet itself. */
function namedTwice(references: readonly Reference[]): Objection[] {
  const isSameList = (a: Reference, b: Reference) =>
    typeof a.path.at(-1) === 'number' && pathInWords(a.path.slice(0, -1)) === pathInWords(b.path.slice(0, -1));
  return references
    .filter((one, i) => references.slice(0, i).some((earlier) => earlier.id === one.id && isSameList(one, earlier)))
    .map(({ path, id }) => ({ path, expected: 'another id than those before it', found: `"${id}" again` }));
}

/** All that is wrong with one step, given what the ids before it stand for; and what its own will. */
function checkStep(
  step: Record<string, unknown>,
  kinds: ReadonlyMap<string, Kind | undefined>,
  later: ReadonlySet<string>,
  outdated: ReadonlyMap<string, string>,
): { objections: readonly Objection[]; kind?: Kind } {
  const names = Object.keys(checks);
  if (typeof step.step !== 'string' || !Object.hasOwn(checks, step.step)) {
    const suggestion = typeof step.step === 'string' ? meant(step.step, names) : '';
    return {
      objections: [{ path: ['step'], expected: `one of ${either(names)}`, found: inWords(step.step) + suggestion }],
    };
  }
  const check = checks[step.step as StepName];
  const form = formOf(step, check);
  if (!('form' in form)) return { objections: [form, ...faults(z.object({ id: planId }), step)] };
  const objections = faults(form.form, step);
  if (objections.length > 0) return { objections };

  const kindOf: KindOf = (id) => kinds.get(id);
  const valid = step as never;
  for (const reference of check.references(valid)) {
    const { id, path, accepts } = reference;
    const accepted = either(accepts.map(withArticle));
    if (reference.all && id === 'all') continue;
    if (!kinds.has(id)) {
      const order = later.has(id)
        ? `"${id}", which comes later`
        : `"${id}", which no step is called${meant(id, kinds.keys())}`;
      objections.push({ path, expected: `an earlier id of ${accepted}`, found: order });
      continue;
    }
    const kind = kinds.get(id);
    if (kind !== undefined && !accepts.includes(kind))
      objections.push({ path, expected: accepted, found: `"${id}", ${withArticle(kind)}` });
    else if (outdated.has(id))
      objections.push({
        path,
        expected: `${accepted} of the scan as "${outdated.get(id)}" left it`,
        found: `"${id}", which is of the scan before; make it after that step`,
      });
  }
  objections.push(...namedTwice(check.references(valid)));
  if (objections.length > 0) return { objections };
  const more = check.object?.(valid, kindOf) ?? [];
  const kind = check.yields(valid, kindOf);
  return kind === undefined ? { objections: more } : { objections: more, kind };
}

/**
 * A plan from what a JSON document holds, checked in full before any scan is read: every field, every id, every
 * reference and whether what it refers to is of a kind the step can use.
 *
 * @param name of the plan's file: it opens the message of an error
 * @throws PlanError (`plan-invalid`) naming every problem: step, field, what was expected and what was found
 */
export function checkPlan(json: unknown, name?: string): Plan {
  if (!isObject(json))
    throw new PlanError([{ step: 'plan', field: '', expected: 'an object', found: inWords(json) }], name);
  const problems: PlanProblem[] = [];
  const report = (step: string, { path, expected, found }: Objection) =>
    problems.push({ step, field: pathInWords(path), expected, found });

  const { steps, ...rest } = json;
  for (const fault of faults(head, rest)) report('plan', fault);
  for (const key of Object.keys(rest).filter((key) => !Object.hasOwn(planHead, key)))
    report('plan', {
      path: [key],
      expected: 'a known field',
      found: `${inWords(key)}${meant(key, [...Object.keys(planHead), 'steps'])}`,
    });
  if (!Array.isArray(steps) || steps.length === 0) {
    report('plan', { path: ['steps'], expected: 'a list of at least one step', found: inWords(steps) });
    throw new PlanError(problems, name);
  }

  const kinds = new Map<string, Kind | undefined>();
  /** Ids not to be used any more, with the step that changed the scan. */
  const outdated = new Map<string, string>();
  const ids = steps.map((s) => (isObject(s) && planId.safeParse(s.id).success ? (s.id as string) : undefined));
  for (const [i, step] of steps.entries()) {
    const id = ids[i];
    const name = id ?? `step ${i + 1}`;
    if (!isObject(step)) {
      report(name, { path: [], expected: 'an object', found: inWords(step) });
      continue;
    }
    const later = new Set(ids.slice(i).filter((other) => other !== undefined));
    const { objections, kind } = checkStep(step, kinds, later, outdated);
    for (const objection of objections) report(name, objection);
    if (id === undefined) continue;
    if (kinds.has(id)) report(name, { path: ['id'], expected: 'an id of its own', found: `"${id}", used before` });
    else if (reservedIds.includes(id))
      report(name, { path: ['id'], expected: 'another id: this word has a meaning of its own', found: `"${id}"` });
    else kinds.set(id, objections.length > 0 ? undefined : kind);
    if (objections.length > 0) continue;
    const what = checks[step.step as StepName].outdates?.(step as never) ?? 'nothing';
    for (const [other, otherKind] of kinds)
      if (
        other !== id &&
        !outdated.has(other) &&
        // What was read off the part itself does not change with the scan.
        otherKind !== 'size' &&
        (what === 'everything' || (what === 'regions' && otherKind === 'region'))
      )
        outdated.set(other, id);
  }
  if (problems.length > 0) throw new PlanError(problems, name);
  return { ...(rest as Omit<Plan, 'steps'>), steps: steps as Step[] };
}
