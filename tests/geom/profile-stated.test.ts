import { expect, test } from 'vitest';
import { fitChain } from '../../packages/geom/src/section/outline/chain.js';
import type { Constraint } from '../../packages/geom/src/section/outline/constraint.js';
import { fitFlat } from '../../packages/geom/src/section/outline/fit.js';
import { outlineOf, withWave } from '../../packages/geom/src/section/outline/places.js';
import { statedShapes } from '../../packages/geom/src/section/outline/stated.js';
import { line, sectionOf } from './outlines.js';

test('an arc that is a line by another noise keeps what the noises say by which it is an arc', () => {
  const plain = outlineOf(sectionOf([line(0, 0, 20, 0)], { closed: false, noise: 0.02, seed: 31 }).polylines[0]);
  const stretches = [
    { from: 0, to: 38, shape: 'arc' as const },
    { from: 38, to: 98, shape: 'line' as const },
  ];
  const constraints: Constraint[] = [{ kind: 'tangent', pieces: [0, 1] }];
  const [white, height, length] = [0.02, 0.1, 2];
  const wavy = withWave(plain, white, height / white, length);
  // The case this test is about.
  expect([plain, wavy].map((o) => fitFlat(o, 'arc', 0, 38).kind)).toEqual(['line', 'arc']);

  const chain = fitChain(wavy, stretches, constraints)!;
  const models = [
    { white, height: 0, length: 0, chance: 0.4 },
    { white, height, length, chance: 0.6 },
  ];
  const both = statedShapes(chain, white, { height, length, models }, plain, stretches, constraints);
  const one = statedShapes(chain, white, { height, length, models: [models[1]!] }, plain, stretches, constraints);
  expect(both.shapes.map((s) => s.kind)).toEqual(['arc', 'line']);
  both.shapes.forEach((s, k) => {
    s.covariance.forEach((c, e) => {
      expect(c / one.shapes[k]!.covariance[e]!).toBeCloseTo(1, 9);
    });
  });
});
