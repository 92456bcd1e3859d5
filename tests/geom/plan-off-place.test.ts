import { checkPlan, createScan, runPlan, seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';

/** Rims of 12 points each about places 20 mm apart around a circle of 40 mm, every point off by normal noise in the plane. */
function rims(count: number, noise: number, seed: number) {
  const random = seededRandom(seed);
  const positions: number[] = [];
  for (let h = 0; h < count; h++)
    for (let i = 0; i < 12; i++) {
      const [place, turn] = [(2 * Math.PI * h) / count, (2 * Math.PI * i) / 12];
      const radius = 4 + noise * random.normal();
      positions.push(40 * Math.cos(place) + radius * Math.cos(turn), 40 * Math.sin(place) + radius * Math.sin(turn), 0);
    }
  return createScan({ positions: Float64Array.from(positions), name: 'rims' });
}

const planOf = (count: number) =>
  checkPlan({
    version: 1,
    title: 'Rims',
    steps: [
      ...Array.from({ length: count }, (_, h) => {
        const turn = (2 * Math.PI * h) / count;
        const center = [40 * Math.cos(turn), 40 * Math.sin(turn), 0];
        return [
          { step: 'region', id: `rim-${h}`, sphere: { center, radius: 6 } },
          { step: 'fit', id: `hole-${h}`, shape: 'circle', to: `rim-${h}` },
        ];
      }).flat(),
      { step: 'construct', id: 'ring', boltCircle: Array.from({ length: count }, (_, h) => `hole-${h}`) },
    ],
  });

test('the ± of the hole farthest off its place allows that noise chose it', () => {
  const plan = planOf(6);
  let held = 0;
  let last = 0;
  const draws = 40;
  for (let seed = 1; seed <= draws; seed++) {
    const row = runPlan(plan, rims(6, 0.05, seed)).sheet.at(-1)!;
    const off = row.values.find(({ name }) => name === 'off-place')!;
    // All holes are drawn in their places: what is found is noise.
    if (off.value <= off.uncertainty!) held++;
    last = off.uncertainty! / off.value;
  }
  // 95 of 100 or more; 60 draws gave 57. With 40, four standard errors under that are 81 of 100.
  expect(held / draws).toBeGreaterThan(0.81);
  expect(last).toBeLessThan(5);
});

test('a pattern is as long as its holes are apart, whatever they were set in', () => {
  const scan = rims(6, 0.05, 1);
  const plan = planOf(6);
  const ring = runPlan(plan, scan).outcomes.find(({ id }) => id === 'ring');
  // Places around a circle of 40 mm lie 80 mm apart at most.
  expect(ring?.kind === 'construct' && ring.uncertainty!.reach).toBeCloseTo(40, 0);
});
