import { checkPlan, type Random, runPlan, type Scan, seededRandom } from '@fettle/geom';
import { describe, expect, test } from 'vitest';

/** A wall about z from level 0 down, its rim rounded by `rim` mm toward the outside; triangles of some `side`, points with noise. */
function hole(random: Random, radius: number, side: number, { rim = 0, noise = 0.01, deep = 12 } = {}): Scan {
  const around = Math.round((2 * Math.PI * radius) / side);
  // Along the profile: a flat top, the quarter circle, the wall.
  const flat = 3 * side;
  const arc = (rim * Math.PI) / 2;
  const rows = Math.round((flat + arc + deep) / (side * Math.sqrt(0.75)));
  const positions: number[] = [];
  for (let r = 0; r <= rows; r++) {
    const along = ((flat + arc + deep) * r) / rows;
    const turn = rim > 0 ? Math.min(Math.max((along - flat) / rim, 0), Math.PI / 2) : along < flat ? 0 : Math.PI / 2;
    const out = radius + rim * (1 - Math.sin(turn)) + Math.max(0, flat - along);
    const level = -rim * (1 - Math.cos(turn)) - Math.max(0, along - flat - arc);
    for (let c = 0; c < around; c++) {
      const a = (2 * Math.PI * (c + (r % 2) / 2 + 0.2 * (random.next() - 0.5))) / around;
      const d = noise * random.normal();
      const far = out - d * Math.sin(turn);
      positions.push(
        far * Math.cos(a),
        far * Math.sin(a),
        level + d * Math.cos(turn) + (turn === Math.PI / 2 ? 0.2 * side * (random.next() - 0.5) : 0),
      );
    }
  }
  const triangles: number[] = [];
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < around; c++) {
      const [a, b] = [r * around + c, r * around + ((c + 1) % around)];
      const shift = r % 2;
      const [p, q] = [
        (r + 1) * around + ((c + shift) % around),
        (r + 1) * around + ((c + shift + (shift ? 0 : 1)) % around),
      ];
      if (shift) triangles.push(a, p, b, a, (r + 1) * around + c, p);
      else triangles.push(a, p, b, b, p, q);
    }
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), units: 'mm', name: 'hole' };
}

const plan = (level: number) =>
  checkPlan({
    version: 1,
    title: 'a hole',
    // A scan of one small hole shows no noise by itself.
    scanner: { accuracy: 0, noise: { white: 0.01, shared: [] } },
    steps: [
      { step: 'section', id: 'cut', axis: 'z', at: level },
      { step: 'fit', id: 'hole', shape: 'circle', to: 'cut' },
    ],
  });

function measured(scan: Scan, level: number) {
  const row = runPlan(plan(level), scan).sheet.find(({ id }) => id === 'hole')!;
  const { value, uncertainty } = row.values.find(({ name }) => name === 'diameter')!;
  return { diameter: value, plusMinus: uncertainty!, codes: row.warnings.map(({ code }) => code) };
}

describe('circles of a mesh are fitted off the chords that its edges are', () => {
  test('a hole of 18 mm in triangles of 2 mm', () => {
    let held = 0;
    let sum = 0;
    for (let seed = 1; seed <= 20; seed++) {
      const { diameter, plusMinus, codes } = measured(hole(seededRandom(seed), 9, 2), -6);
      expect(codes).not.toContain('edge-rounded');
      expect(plusMinus).toBeLessThan(0.06);
      sum += (diameter - 18) / 20;
      if (Math.abs(diameter - 18) < plusMinus) held++;
    }
    // On the chords it is 0.05 mm too small: twice the mean of t(1 − t)·L²/2R, a sixth of 4 mm² over 9 mm at most.
    expect(Math.abs(sum)).toBeLessThan(0.01);
    expect(held).toBeGreaterThanOrEqual(18);
  });

  test('without noise it is exact, whatever the triangles', () => {
    for (const side of [0.5, 2, 4]) {
      const { diameter } = measured(hole(seededRandom(3), 9, side, { noise: 0 }), -6);
      expect(diameter).toBeCloseTo(18, 9);
    }
  });
});

describe('a cut beside a rounded rim', () => {
  test('is warned of, and its ± holds the truth', () => {
    let warned = 0;
    let held = 0;
    let sound = 0;
    for (let seed = 1; seed <= 15; seed++) {
      const scan = hole(seededRandom(seed), 9, 0.6, { rim: 1.5 });
      // At 0.4 mm below the top the rim is 1.5·(1 − √(1 − (1.1/1.5)²)) = 0.48 mm wider than the wall.
      const { diameter, plusMinus, codes } = measured(scan, -0.4);
      expect(diameter - 18).toBeGreaterThan(0.8);
      if (codes.includes('edge-rounded')) warned++;
      if (Math.abs(diameter - 18) < plusMinus) held++;
      if (measured(scan, -7).codes.length === 0) sound++;
    }
    expect(warned).toBe(15);
    expect(held).toBeGreaterThanOrEqual(14);
    expect(sound).toBeGreaterThanOrEqual(14);
  });
});
