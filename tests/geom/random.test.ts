import { seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';

test('a seed gives the same numbers again, another seed others', () => {
  const draw = (seed: number) => {
    const random = seededRandom(seed);
    return Array.from({ length: 5 }, () => random.normal());
  };
  expect(draw(7)).toEqual(draw(7));
  expect(draw(7)).not.toEqual(draw(8));
});

test('normal deviates have mean 0 and variance 1 within four standard errors', () => {
  const random = seededRandom(1);
  const n = 200_000;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < n; i++) {
    const z = random.normal();
    sum += z;
    squares += z * z;
  }
  expect(Math.abs(sum / n)).toBeLessThan(4 / Math.sqrt(n));
  expect(Math.abs(squares / n - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
});
