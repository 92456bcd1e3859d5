import type { Plan } from '@fettle/geom';

/** `plane-1`, `plane-2` …: an id neither a step nor any of the others has. */
export function freeId(plan: Plan, word: string, besides: readonly string[] = []): string {
  const taken = new Set([...plan.steps.map(({ id }) => id), ...besides]);
  let number = 1;
  while (taken.has(`${word}-${number}`)) number++;
  return `${word}-${number}`;
}
