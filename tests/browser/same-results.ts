import { expect } from 'vitest';

/** Engines' elementary functions (exp, log, sin …) differ in the last digit; of a value, or of the largest of its vector. */
const LARGEST = 1e-9;
/** What is zero but for rounding, mm or a share of one. */
const ROUNDING = 1e-12;

/** Two results are the same in every word, and to 1e-9 of every number. */
export function expectSame(one: unknown, other: unknown, where = 'results'): void {
  if (typeof one === 'number' && typeof other === 'number') {
    expectNear(one, other, Math.abs(other), where);
    return;
  }
  if (typeof one !== 'object' || one === null || typeof other !== 'object' || other === null) {
    expect(one, where).toEqual(other);
    return;
  }
  expect(Object.keys(one), where).toEqual(Object.keys(other));
  const numbers = Object.values(other).filter((value) => typeof value === 'number');
  const size = Array.isArray(other) ? Math.max(0, ...numbers.map(Math.abs)) : undefined;
  for (const [key, value] of Object.entries(one)) {
    const same = (other as Record<string, unknown>)[key];
    if (size !== undefined && typeof value === 'number' && typeof same === 'number')
      expectNear(value, same, size, `${where}.${key}`);
    else expectSame(value, same, `${where}.${key}`);
  }
}

function expectNear(one: number, other: number, size: number, where: string): void {
  // Both infinite, or neither.
  if (one === other) return;
  expect(Math.abs(one - other), where).toBeLessThanOrEqual(Math.max(ROUNDING, LARGEST * size));
}
