import { seededRandom, suggestShape } from '@fettle/geom';
import { expect, it } from 'vitest';

/** A piece of a torus, about its outermost point: radii 30 and 26 mm one way and the other. */
it('a piece of a torus is not clearly a sphere', () => {
  for (let seed = 1; seed <= 3; seed++) {
    const random = seededRandom(seed);
    const positions = new Float64Array(3 * 6000);
    for (let i = 0; i < 6000; i++) {
      const [turn, around] = [random.next() - 0.5, random.next() - 0.5];
      const r = 26 + 0.04 * random.normal();
      const far = 4 + r * Math.cos(around);
      positions.set([far * Math.cos(turn), far * Math.sin(turn), r * Math.sin(around)], 3 * i);
    }
    const { reason, by } = suggestShape({ positions });
    expect(reason).not.toMatch(/^Clearly/);
    expect(by).toBeLessThan(6);
  }
});

it('a piece of a sphere still is clearly one', () => {
  for (let seed = 1; seed <= 3; seed++) {
    const random = seededRandom(seed);
    const positions = new Float64Array(3 * 6000);
    for (let i = 0; i < 6000; i++) {
      const [turn, around] = [random.next() - 0.5, random.next() - 0.5];
      const r = 30 + 0.04 * random.normal();
      positions.set(
        [r * Math.cos(around) * Math.cos(turn), r * Math.cos(around) * Math.sin(turn), r * Math.sin(around)],
        3 * i,
      );
    }
    expect(suggestShape({ positions }).reason).toMatch(/^Clearly a sphere/);
  }
});
