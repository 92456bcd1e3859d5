import {
  checkPlan,
  createScan,
  type PlanError,
  resultsToJson,
  runPlan,
  type Scan,
  type SheetRow,
  seededRandom,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { cloudOf, revolve } from './section-solids.js';

/** A bush: bore ⌀ 9, outside ⌀ 25, 30 long, its axis z; its points a little off where they belong. */
function bush(noise: number, bore = 9): Scan {
  const random = seededRandom(3);
  const ends = [0, 5, 10, 15, 20, 25, 30];
  const mesh = revolve(
    [...ends.map((z) => [12.5, z] as const), ...ends.toReversed().map((z) => [bore / 2, z] as const)],
    90,
    true,
  );
  return createScan({ ...mesh, positions: mesh.positions.map((c) => c + noise * random.normal()), name: 'bush.ply' });
}
const base = [
  { step: 'region', id: 'inside', box: { min: [-6, -6, 3], max: [6, 6, 27] } },
  { step: 'region', id: 'all-round', box: { min: [-30, -30, 3], max: [30, 30, 27] } },
  { step: 'region', id: 'outside', of: 'all-round', without: ['inside'] },
  { step: 'section', id: 'across', axis: 'z', at: 12 },
];
const bore = { step: 'fit', id: 'f', shape: 'cylinder', to: 'inside' };
const skin = { step: 'fit', id: 'f', shape: 'cylinder', to: 'outside' };
const ring = { step: 'fit', id: 'f', shape: 'circle', to: 'across' };
const boreRing = { ...ring, stretch: { sphere: { center: [0, 0, 12], radius: 8 } } };
/** A quarter of it: enough for its place, not for its size. */
const boreArc = { ...ring, stretch: { from: [4.5, 0, 12], to: [-2, 4, 12] } };
const skinRing = { ...ring, stretch: { from: [12.5, 0, 12], to: [-12.5, 1, 12] } };

const planOf = (...steps: object[]) => ({ version: 1, title: 'Bush', steps: [...base, ...steps] });
const rowOf = (scan: Scan, ...steps: object[]): SheetRow => runPlan(checkPlan(planOf(...steps)), scan).sheet.at(-1)!;
const codesOf = (row: SheetRow) => row.warnings.map(({ code }) => code);
const objections = (...steps: object[]): readonly string[] => {
  try {
    checkPlan(planOf(...steps));
  } catch (error) {
    return (error as PlanError).problems.map((p) => `${p.field}: ${p.expected}, not ${p.found}`);
  }
  return [];
};

const fine = bush(0.002);
const rough = bush(0.25);

describe('what the tables say of a fitted hole', () => {
  // ISO 273: M8 fine 8.4, medium 9, coarse 10 mm; ISO 2306: M8 is tapped 6.8 mm; DIN 974-1: ⌀ 15, 8.6 deep (all from memory).
  test.each([
    ['a cylinder', bore],
    ['a circle of a section', boreRing],
  ])('%s: the screw it is for, with drills and counterbore', (_, fit) => {
    const [words] = rowOf(fine, { ...fit, screw: true }).advice!;
    expect(words).toMatch(
      /^Nearest clearance hole \(ISO 273\): M8 medium, 9 mm .* drill 9 mm to clear, 6\.8 mm to tap .*: 15 mm, 8\.6 mm deep\.$/,
    );
    expect(words).not.toMatch(/it may as well be/i);
  });

  test('known worse, it may as well be another', () => {
    const row = rowOf(rough, { ...boreArc, screw: true });
    const { uncertainty } = row.values.find(({ name }) => name === 'diameter')!;
    // Between M8 medium 9 mm and M8 fine 8.4 mm half the way is 0.3.
    expect(uncertainty).toBeGreaterThan(0.3);
    expect(row.advice![0]).toMatch(/Known to ± 0\.\d+ mm, it may as well be M8 fine, 8\.4 mm .* or M8 coarse, 10 mm/);
  });

  test('limits and fit, with what the ± of the scan leaves open', () => {
    // ISO 286-2: 9 H7 +15/0, H11 +90/0, H15 +580/0, H16 +900/0 µm (from memory).
    const tight = rowOf(fine, { ...bore, fit: 'JS11' }).advice![0];
    expect(tight).toMatch(/^JS11 of 9 mm: 8\.955 to 9\.045 mm .*; measured 9\.0\d* ± 0\.000\d+ mm: within JS11\.$/);
    // The bore is 9 mm to the thousandth: right at the lower limit of H11.
    const edge = rowOf(fine, { ...bore, fit: 'H11' }).advice![0];
    expect(edge).toMatch(/: within H11 or outside, the ± does not tell; it is right at the limit\.$/);
    const loose = rowOf(rough, { ...boreArc, fit: 'H7', nominal: 9 }).advice![0];
    expect(loose).toMatch(/± 0\.\d+ mm: within H7 or outside, the ± does not tell; it cannot tell H7 from H15\./);
    expect(loose).toMatch(/measure it by an instrument good to ± 0\.002 mm\.$/);
  });

  test('a size given by hand is held against the class as it was given', () => {
    const known = { diameter: { value: 9.05, uncertainty: 0.004 } };
    expect(rowOf(fine, { ...bore, known, fit: 'H11' }).advice![0]).toMatch(
      /measured 9\.05 ± 0\.0039 mm: within H11\.$/,
    );
    expect(rowOf(fine, { ...bore, known: { diameter: 9.1 }, fit: 'H11' }).advice![0]).toMatch(
      /measured 9\.1 mm: outside H11\.$/,
    );
  });

  test('nothing is said where nothing is asked', () => {
    expect(rowOf(fine, bore)).not.toHaveProperty('advice');
  });

  test('it is in the results', () => {
    const json = resultsToJson(runPlan(checkPlan(planOf({ ...bore, screw: true, fit: 'H11' })), fine));
    expect(json.sheet.at(-1)!.advice).toHaveLength(2);
  });

  test('a size the tables do not have is a warning, not the end of the run', () => {
    const wide = bush(0.002, 9);
    const scaled = createScan({ ...wide, positions: wide.positions.map((c) => 10 * c) });
    const big = { step: 'fit', id: 'f', shape: 'cylinder', to: 'wall', screw: true, fit: 'K9' };
    const region = { step: 'region', id: 'wall', box: { min: [-60, -60, 30], max: [60, 60, 270] } };
    const { sheet } = runPlan(checkPlan({ version: 1, title: 'Big', steps: [region, big] }), scaled);
    expect(codesOf(sheet[0]!)).toEqual(expect.arrayContaining(['hole-out-of-range', 'class-not-given']));
    expect(sheet[0]).not.toHaveProperty('advice');
  });
});

describe('a shaft and a hole are told apart by the scan', () => {
  const scanner = { accuracy: 0, noise: { white: 0.002 } };
  const rowOf = (scan: Scan, ...steps: object[]): SheetRow =>
    runPlan(checkPlan({ ...planOf(...steps), scanner }), scan).sheet.at(-1)!;
  test.each([
    ['bore, a cylinder', bore, true],
    ['bore, a circle of a section', boreRing, true],
    ['outside, a cylinder', skin, false],
    ['outside, a circle of a stretch of a section', skinRing, false],
  ] as const)('%s', (_, fit, isHole) => {
    const nominal = isHole ? 9 : 25;
    const row = rowOf(fine, { ...fit, fit: 'H7/g6', nominal });
    expect(row.advice![0]).toMatch(isHole ? /as the hole measured/ : /as the shaft measured/);
    expect(row.advice![0]).not.toMatch(isHole ? /as the shaft/ : /as the hole/);
    expect(codesOf(rowOf(fine, { ...fit, fit: 'H7', nominal }))).toEqual(isHole ? [] : ['not-a-hole']);
    expect(codesOf(rowOf(fine, { ...fit, fit: 'g6', nominal }))).toEqual(isHole ? ['not-a-shaft'] : []);
    expect(codesOf(rowOf(fine, { ...fit, screw: true }))).toEqual(isHole ? [] : ['not-a-hole']);
  });

  test('a size by hand of it too', () => {
    const hand = { step: 'by-hand', id: 'h', size: 25, of: 'f', fit: 'H7/g6' };
    expect(rowOf(fine, skin, hand).advice![0]).toMatch(/; as the shaft measured 25 mm: outside g6\.$/);
    expect(codesOf(rowOf(fine, skin, { ...hand, fit: 'H7' }))).toContain('not-a-hole');
  });

  test('a cloud does not tell, so both are said', () => {
    const onCloud = (fit: string) => {
      const steps = [base[0], { ...bore, fit }];
      return runPlan(checkPlan({ version: 1, title: 'Bush', steps }), cloudOf(fine)).sheet.at(-1)!;
    };
    expect(onCloud('H7/g6').advice![0]).toMatch(/as the hole measured .*; as the shaft measured /);
    expect(codesOf(onCloud('g6'))).not.toContain('not-a-shaft');
  });
});

test('what cannot be asked is told before the scan is read', () => {
  expect(objections({ ...bore, screw: true, fit: 'H7/g6', nominal: 9 })).toEqual([]);
  expect(objections({ ...bore, fit: 'K9' })).toEqual([]);
  expect(objections({ ...bore, fit: 'K9', nominal: 9 })[0]).toMatch(
    /^fit: what the tables have: .*gives no K over IT8/,
  );
  expect(objections({ ...bore, fit: 'Q7' })[0]).toMatch(
    /^fit: what the tables have: "Q7" is no tolerance class kept here/,
  );
  expect(objections({ ...bore, nominal: 9 })).toEqual(['nominal: a class in fit, not none']);
  expect(objections({ ...bore, known: { diameter: 300 }, screw: true })[0]).toMatch(/^screw: .*300 mm is outside/);
  expect(objections({ step: 'fit', id: 'f', shape: 'plane', to: 'inside', screw: true })).toEqual([
    'screw: only with circle or cylinder, not shape plane',
  ]);
});
