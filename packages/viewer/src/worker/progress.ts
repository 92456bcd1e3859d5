/** Passes on progress at most so often, and always the first; ms. */
const INTERVAL = 60;

export function seldom<A extends readonly unknown[]>(tell: (...told: A) => void): (...told: A) => void {
  let last = -Infinity;
  return (...told) => {
    const now = performance.now();
    if (now - last < INTERVAL) return;
    last = now;
    tell(...told);
  };
}
