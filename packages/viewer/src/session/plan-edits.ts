import { type Plan, renameReferences, type Step, stepReferences } from '@fettle/geom';

export { planFromBytes } from '@fettle/io';

/** Changes of a plan, each giving a new one. */

const withSteps = (plan: Plan, steps: readonly Step[]): Plan => ({ ...plan, steps });

export const appended = (plan: Plan, steps: readonly Step[]): Plan => withSteps(plan, [...plan.steps, ...steps]);

/** A step in another's place; where it has another id, all that name it follow. */
export function edited(plan: Plan, id: string, step: Step): Plan {
  const newId = (other: string) => (other === id ? step.id : other);
  const follow = (other: Step) => (stepReferences(other).includes(id) ? renameReferences(other, newId) : other);
  const isRenamed = step.id !== id;
  return withSteps(
    plan,
    plan.steps.map((other) => (other.id === id ? step : isRenamed ? follow(other) : other)),
  );
}

/** Ids that rest on any of those given, directly or not, in plan order. */
export function restingOn(plan: Plan, ids: readonly string[]): string[] {
  const under = new Set(ids);
  const resting: string[] = [];
  for (const step of plan.steps) {
    if (under.has(step.id) || !stepReferences(step).some((id) => under.has(id))) continue;
    under.add(step.id);
    resting.push(step.id);
  }
  return resting;
}

/** The plan without steps and all that rests on them; regions that only those were made of go too. */
export function removed(plan: Plan, ids: readonly string[]): Plan {
  const gone = new Set([...ids, ...restingOn(plan, ids)]);
  for (const step of plan.steps.toReversed()) {
    if (step.step !== 'region' || gone.has(step.id)) continue;
    const users = plan.steps.filter((other) => stepReferences(other).includes(step.id));
    if (users.length > 0 && users.every(({ id }) => gone.has(id))) gone.add(step.id);
  }
  return withSteps(
    plan,
    plan.steps.filter(({ id }) => !gone.has(id)),
  );
}

/** A step with the regions made for it alone, which have no row of their own and go where it goes. */
function blockOf(steps: readonly Step[], id: string): readonly Step[] {
  const block = new Set([id]);
  for (const step of steps.toReversed()) {
    if (step.step !== 'region' || block.has(step.id)) continue;
    const users = steps.filter((other) => stepReferences(other).includes(step.id));
    if (users.length > 0 && users.every((user) => block.has(user.id))) block.add(step.id);
  }
  return steps.filter((step) => block.has(step.id));
}

/**
 * The plan with a step so many rows farther down, up where negative, as far as what it rests on and what rests on it allow. The same
 * plan where it cannot move.
 */
export function moved(plan: Plan, id: string, by: number): Plan {
  let steps = plan.steps;
  for (let count = 0; count < Math.abs(by); count++) {
    const next = movedByOne(steps, id, by > 0);
    if (next === undefined) break;
    steps = next;
  }
  return steps === plan.steps ? plan : withSteps(plan, steps);
}

function movedByOne(steps: readonly Step[], id: string, isDown: boolean): readonly Step[] | undefined {
  const block = blockOf(steps, id);
  const rest = steps.filter((step) => !block.includes(step));
  const at = rest.filter((step) => steps.indexOf(step) < steps.findIndex((s) => s.id === id)).length;
  const neighbor = isDown
    ? rest.slice(at).find((step) => step.step !== 'region')
    : rest.slice(0, at).findLast((step) => step.step !== 'region');
  if (neighbor === undefined) return undefined;
  const place = isDown ? rest.indexOf(neighbor) + 1 : rest.indexOf(blockOf(rest, neighbor.id)[0]!);
  const needs = block.flatMap(stepReferences).map((needed) => rest.findIndex((step) => step.id === needed));
  const users = rest.findIndex((step) => stepReferences(step).some((needed) => block.some((b) => b.id === needed)));
  if (place <= Math.max(-1, ...needs) || (users >= 0 && place > users)) return undefined;
  return [...rest.slice(0, place), ...block, ...rest.slice(place)];
}
