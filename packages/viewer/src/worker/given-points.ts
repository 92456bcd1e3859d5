import type { StepOutcome } from '@fettle/geom';

/** Points of the scan as a step saw it by their numbers in the scan as it was opened, which is what is drawn. */
export function givenPoints(outcomes: readonly StepOutcome[], before: string, points: Uint32Array): Uint32Array {
  const end = outcomes.findIndex(({ id }) => id === before);
  const given = points.slice();
  for (const outcome of outcomes.slice(0, end).reverse()) {
    if (outcome.kind !== 'prepare' || outcome.prepared.scan === outcome.prepared.from) continue;
    const { keptPoints } = outcome.prepared;
    for (let i = 0; i < given.length; i++) given[i] = keptPoints[given[i]!]!;
  }
  return given;
}
