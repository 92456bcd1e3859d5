import { type FettleError, fitInWords, fitOf, limitsInWords, limitsOf } from '@fettle/geom';
import { expect, test } from 'vitest';

// Every value here is from memory of the printed tables named beside it; the code keeps fundamental deviations and standard
// tolerances instead, so that both ends of a printed pair are a check of their own.

const microns = (name: string, nominal: number) => {
  const { lower, upper } = limitsOf(name, nominal);
  return [Math.round(upper.mm * 1e7) / 1e4, Math.round(lower.mm * 1e7) / 1e4];
};

/** One size inside each range of ISO 286-1 up to 500 mm. */
const inRanges = [2, 5, 8, 14, 25, 40, 60, 100, 150, 220, 300, 360, 450];
/** Upper and lower limit deviation in µm, range by range. ISO 286-2, as handbooks of machinery print it. */
const printed: Readonly<Record<string, string>> = {
  // Holes.
  H6: '6 0, 8 0, 9 0, 11 0, 13 0, 16 0, 19 0, 22 0, 25 0, 29 0, 32 0, 36 0, 40 0',
  H7: '10 0, 12 0, 15 0, 18 0, 21 0, 25 0, 30 0, 35 0, 40 0, 46 0, 52 0, 57 0, 63 0',
  H8: '14 0, 18 0, 22 0, 27 0, 33 0, 39 0, 46 0, 54 0, 63 0, 72 0, 81 0, 89 0, 97 0',
  H11: '60 0, 75 0, 90 0, 110 0, 130 0, 160 0, 190 0, 220 0, 250 0, 290 0, 320 0, 360 0, 400 0',
  G7: '12 2, 16 4, 20 5, 24 6, 28 7, 34 9, 40 10, 47 12, 54 14, 61 15, 69 17, 75 18, 83 20',
  F8: '20 6, 28 10, 35 13, 43 16, 53 20, 64 25, 76 30, 90 36, 106 43, 122 50, 137 56, 151 62, 165 68',
  K6: '0 -6, 2 -6, 2 -7, 2 -9, 2 -11, 3 -13, 4 -15, 4 -18, 4 -21, 5 -24, 5 -27, 7 -29, 8 -32',
  K7: '0 -10, 3 -9, 5 -10, 6 -12, 6 -15, 7 -18, 9 -21, 10 -25, 12 -28, 13 -33, 16 -36, 17 -40, 18 -45',
  K8: '0 -14, 5 -13, 6 -16, 8 -19, 10 -23, 12 -27, 14 -32, 16 -38, 20 -43, 22 -50, 25 -56, 28 -61, 29 -68',
  M7: '-2 -12, 0 -12, 0 -15, 0 -18, 0 -21, 0 -25, 0 -30, 0 -35, 0 -40, 0 -46, 0 -52, 0 -57, 0 -63',
  N6: '-4 -10, -5 -13, -7 -16, -9 -20, -11 -24, -12 -28, -14 -33, -16 -38, -20 -45, -22 -51, -25 -57, -26 -62, -27 -67',
  N7: '-4 -14, -4 -16, -4 -19, -5 -23, -7 -28, -8 -33, -9 -39, -10 -45, -12 -52, -14 -60, -14 -66, -16 -73, -17 -80',
  N9: '-4 -29, 0 -30, 0 -36, 0 -43, 0 -52, 0 -62, 0 -74, 0 -87, 0 -100, 0 -115, 0 -130, 0 -140, 0 -155',
  P6: '-6 -12, -9 -17, -12 -21, -15 -26, -18 -31, -21 -37, -26 -45, -30 -52, -36 -61, -41 -70, -47 -79, -51 -87, -55 -95',
  P7: '-6 -16, -8 -20, -9 -24, -11 -29, -14 -35, -17 -42, -21 -51, -24 -59, -28 -68, -33 -79, -36 -88, -41 -98, -45 -108',
  // Shafts.
  e8: '-14 -28, -20 -38, -25 -47, -32 -59, -40 -73, -50 -89, -60 -106, -72 -126, -85 -148, -100 -172, -110 -191, -125 -214, -135 -232',
  f7: '-6 -16, -10 -22, -13 -28, -16 -34, -20 -41, -25 -50, -30 -60, -36 -71, -43 -83, -50 -96, -56 -108, -62 -119, -68 -131',
  g6: '-2 -8, -4 -12, -5 -14, -6 -17, -7 -20, -9 -25, -10 -29, -12 -34, -14 -39, -15 -44, -17 -49, -18 -54, -20 -60',
  h6: '0 -6, 0 -8, 0 -9, 0 -11, 0 -13, 0 -16, 0 -19, 0 -22, 0 -25, 0 -29, 0 -32, 0 -36, 0 -40',
  h9: '0 -25, 0 -30, 0 -36, 0 -43, 0 -52, 0 -62, 0 -74, 0 -87, 0 -100, 0 -115, 0 -130, 0 -140, 0 -155',
  k6: '6 0, 9 1, 10 1, 12 1, 15 2, 18 2, 21 2, 25 3, 28 3, 33 4, 36 4, 40 4, 45 5',
  m6: '8 2, 12 4, 15 6, 18 7, 21 8, 25 9, 30 11, 35 13, 40 15, 46 17, 52 20, 57 21, 63 23',
  n6: '10 4, 16 8, 19 10, 23 12, 28 15, 33 17, 39 20, 45 23, 52 27, 60 31, 66 34, 73 37, 80 40',
  p6: '12 6, 20 12, 24 15, 29 18, 35 22, 42 26, 51 32, 59 37, 68 43, 79 50, 88 56, 98 62, 108 68',
};
for (const [name, row] of Object.entries(printed))
  test(`${name} in all ranges to 500 mm, as printed from ISO 286-2`, () => {
    const pairs = row.split(', ').map((pair) => pair.split(' ').map(Number));
    expect(pairs).toHaveLength(inRanges.length);
    expect(inRanges.map((nominal) => microns(name, nominal))).toEqual(pairs);
  });

test('r6 and s6 change within the ranges over 50 mm, as printed from ISO 286-2', () => {
  const sizes = [2, 5, 8, 14, 25, 40, 60, 70, 90, 110, 130, 150, 170, 190, 210, 240, 270, 300, 340, 380, 420, 480];
  const r6 =
    '16 10, 23 15, 28 19, 34 23, 41 28, 50 34, 60 41, 62 43, 73 51, 76 54, 88 63, 90 65, 93 68, 106 77, 109 80, 113 84, ' +
    '126 94, 130 98, 144 108, 150 114, 166 126, 172 132';
  const s6 =
    '20 14, 27 19, 32 23, 39 28, 48 35, 59 43, 72 53, 78 59, 93 71, 101 79, 117 92, 125 100, 133 108, 151 122, 159 130, ' +
    '169 140, 190 158, 202 170, 226 190, 244 208, 272 232, 292 252';
  const pairs = (row: string) => row.split(', ').map((pair) => pair.split(' ').map(Number));
  expect(sizes.map((nominal) => microns('r6', nominal))).toEqual(pairs(r6));
  expect(sizes.map((nominal) => microns('s6', nominal))).toEqual(pairs(s6));
});

test('symmetrical classes: half the tolerance to each side, as printed for keyways and general work', () => {
  // JS9 of keyways in hubs (DIN 6885-1 calls for it): ± 12.5, 15, 18, 21.5, 26, 31, 37 µm.
  expect([2, 5, 8, 14, 25, 40, 60].map((d) => microns('JS9', d)[0])).toEqual([12.5, 15, 18, 21.5, 26, 31, 37]);
  // js6: ± 3, 4, 4.5, 5.5, 6.5, 8, 9.5, 11, 12.5, 14.5, 16, 18, 20 µm.
  const js6 = [3, 4, 4.5, 5.5, 6.5, 8, 9.5, 11, 12.5, 14.5, 16, 18, 20];
  expect(inRanges.map((d) => microns('js6', d))).toEqual(js6.map((half) => [half, -half]));
});

test('P9 and N9 of keyways, widths 2 to 32 mm (DIN 6885-1)', () => {
  const p9 = [
    [-6, -31],
    [-12, -42],
    [-15, -51],
    [-18, -61],
    [-22, -74],
    [-26, -88],
  ];
  expect([2, 5, 8, 14, 25, 32].map((b) => microns('P9', b))).toEqual(p9);
});

// Preferred metric fits at 25 mm, hole basis and shaft basis: limits of size and of fit in mm, as Machinery's Handbook prints
// them from ANSI B4.2, whose figures are those of ISO 286. Interference negative.
const atTwentyFive = [
  ['H9/d9', [25.0, 25.052], [24.883, 24.935], [0.065, 0.169]],
  ['H8/f7', [25.0, 25.033], [24.959, 24.98], [0.02, 0.074]],
  ['H7/g6', [25.0, 25.021], [24.98, 24.993], [0.007, 0.041]],
  ['H7/h6', [25.0, 25.021], [24.987, 25.0], [0, 0.034]],
  ['H7/k6', [25.0, 25.021], [25.002, 25.015], [-0.015, 0.019]],
  ['H7/n6', [25.0, 25.021], [25.015, 25.028], [-0.028, 0.006]],
  ['H7/p6', [25.0, 25.021], [25.022, 25.035], [-0.035, -0.001]],
  ['H7/s6', [25.0, 25.021], [25.035, 25.048], [-0.048, -0.014]],
  ['D9/h9', [25.065, 25.117], [24.948, 25.0], [0.065, 0.169]],
  ['F8/h7', [25.02, 25.053], [24.979, 25.0], [0.02, 0.074]],
  ['G7/h6', [25.007, 25.028], [24.987, 25.0], [0.007, 0.041]],
  ['K7/h6', [24.985, 25.006], [24.987, 25.0], [-0.015, 0.019]],
  ['N7/h6', [24.972, 24.993], [24.987, 25.0], [-0.028, 0.006]],
  ['P7/h6', [24.965, 24.986], [24.987, 25.0], [-0.035, -0.001]],
  ['S7/h6', [24.952, 24.973], [24.987, 25.0], [-0.048, -0.014]],
] as const;
for (const [name, hole, shaft, [tightest, loosest]] of atTwentyFive)
  test(`${name} at 25 mm, as printed from ANSI B4.2`, () => {
    const fit = fitOf(name, 25);
    expect([fit.hole.smallest.mm, fit.hole.largest.mm]).toEqual(hole);
    expect([fit.shaft.smallest.mm, fit.shaft.largest.mm]).toEqual(shaft);
    expect(fit.kind).toBe(tightest >= 0 ? 'clearance' : loosest < 0 ? 'interference' : 'transition');
    expect(fit.clearance && [fit.clearance.smallest.mm, fit.clearance.largest.mm]).toEqual(
      loosest > 0 ? [Math.max(0, tightest), loosest] : undefined,
    );
    expect(fit.interference && [fit.interference.smallest.mm, fit.interference.largest.mm]).toEqual(
      tightest < 0 ? [Math.max(0, -loosest), -tightest] : undefined,
    );
  });

test('other common fits: H8/f7 at 50, H9/e9 at 30 and H7/s6 at 100 mm, worked by hand from ISO 286-2', () => {
  // +39/0 with −25/−50; +52/0 with −40/−92; +35/0 with +93/+71.
  expect(fitOf('H8/f7', 50).clearance).toMatchObject({ smallest: { mm: 0.025 }, largest: { mm: 0.089 } });
  expect(fitOf('H9/e9', 30).clearance).toMatchObject({ smallest: { mm: 0.04 }, largest: { mm: 0.144 } });
  expect(fitOf('H7/s6', 100).interference).toMatchObject({ smallest: { mm: 0.036 }, largest: { mm: 0.093 } });
});

test('the same in thousandths of an inch: 25.4 mm to the inch', () => {
  const { clearance, hole } = fitOf('H7/g6', 25.4);
  expect(hole.smallest.thou).toBe(1000);
  expect(hole.tolerance.thou).toBeCloseTo(0.021 / 0.0254, 6);
  expect(clearance!.smallest.thou).toBeCloseTo(0.2756, 4);
  expect(clearance!.largest.thou).toBeCloseTo(1.6142, 4);
});

test('limits and fits in words', () => {
  expect(limitsInWords(limitsOf('H7', 25.4))).toBe(
    'H7 of 25.4 mm: 25.4 to 25.421 mm (1000.00 to 1000.83 thousandths of an inch)',
  );
  expect(fitInWords(fitOf('H7/k6', 25))).toBe(
    'H7/k6 of 25 mm: clearance 0 to 0.019 mm (0.00 to 0.75 thousandths of an inch), or ' +
      'interference 0 to 0.015 mm (0.00 to 0.59 thousandths of an inch)',
  );
  expect(fitInWords(fitOf('H7/s6', 25))).toMatch(/^H7\/s6 of 25 mm: interference 0\.014 to 0\.048 mm/);
});

test('a size at the bound of two ranges belongs to the lower: over 18 up to and including 30', () => {
  expect(limitsOf('H7', 30).upper.mm).toBe(0.021);
  expect(limitsOf('H7', 30.001).upper.mm).toBe(0.025);
  expect(limitsOf('s6', 65).lower.mm).toBe(0.053);
  expect(limitsOf('s6', 65.001).lower.mm).toBe(0.059);
  expect(limitsOf('H7', 500).upper.mm).toBe(0.063);
});

const grades = ['01', '0', ...Array.from({ length: 18 }, (_, i) => String(i + 1))];
const it = (grade: string, nominal: number) => microns(`H${grade}`, nominal)[0]!;

test('within a range the grades grow, and within a grade the ranges', () => {
  for (const nominal of inRanges)
    for (let i = 1; i < grades.length; i++)
      expect(it(grades[i]!, nominal), `IT${grades[i]} at ${nominal}`).toBeGreaterThan(it(grades[i - 1]!, nominal));
  for (const grade of grades)
    for (let i = 1; i < inRanges.length; i++)
      expect(it(grade, inRanges[i]!)).toBeGreaterThanOrEqual(it(grade, inRanges[i - 1]!));
});

/**
 * Geometric mean of each range over 3 mm, as the formulas of ISO 286-1 take it. Their results were rounded by hand to a µm or
 * to preferred numbers; up to 3 mm the table departs from them.
 */
const bounds = [3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500];
const overThree = inRanges.slice(1);
const means = overThree.map((_, i) => Math.sqrt(bounds[i]! * bounds[i + 1]!));

test('grades 5 to 18 are multiples of i = 0.45 ∛D + 0.001 D, as rounded (ISO 286-1, annex)', () => {
  const multiples = [7, 10, 16, 25, 40, 64, 100, 160, 250, 400, 640, 1000, 1600, 2500];
  for (const [k, multiple] of multiples.entries())
    for (const [r, mean] of means.entries()) {
      const formula = multiple * (0.45 * Math.cbrt(mean) + 0.001 * mean);
      const off = Math.abs(it(String(5 + k), overThree[r]!) - formula);
      expect(off, `IT${5 + k} at ${overThree[r]}: ${formula}`).toBeLessThan(Math.max(1, 0.045 * formula));
    }
});

test('fundamental deviations follow the formulas of ISO 286-1, as rounded', () => {
  const near = (name: string, pick: 0 | 1, formula: (mean: number) => number) => {
    for (const [r, mean] of means.entries()) {
      const value = Math.abs(microns(name, overThree[r]!)[pick]!);
      const wanted = formula(mean);
      expect(Math.abs(value - wanted), `${name} at ${overThree[r]}: ${wanted}`).toBeLessThan(
        Math.max(1.25, 0.025 * wanted),
      );
    }
  };
  near('d9', 0, (d) => 16 * d ** 0.44);
  near('e8', 0, (d) => 11 * d ** 0.41);
  near('f7', 0, (d) => 5.5 * d ** 0.41);
  near('g6', 0, (d) => 2.5 * d ** 0.34);
  near('k6', 1, (d) => 0.6 * Math.cbrt(d));
  near('n6', 1, (d) => 5 * d ** 0.34);
  // m is IT7 − IT6 over 3 mm, exactly.
  for (const nominal of overThree) expect(microns('m6', nominal)[1]).toBe(it('7', nominal) - it('6', nominal));
  // p is IT7 and up to 5 µm; r the geometric mean of p and s; s is IT8 and 1 to 4 µm up to 50 mm, IT7 + 0.4 D beyond.
  for (const nominal of overThree) {
    const [p, s, r] = ['p6', 's6', 'r6'].map((name) => microns(name, nominal)[1]!) as [number, number, number];
    expect(p - it('7', nominal)).toBeGreaterThanOrEqual(0);
    expect(p - it('7', nominal)).toBeLessThanOrEqual(5);
    expect(Math.abs(r - Math.sqrt(p * s))).toBeLessThan(1.5);
    if (nominal <= 50) expect(s - it('8', nominal)).toBeLessThanOrEqual(4);
  }
  const finer = [50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500];
  for (let i = 1; i < finer.length; i++) {
    const [nominal, mean] = [finer[i]!, Math.sqrt(finer[i - 1]! * finer[i]!)];
    expect(Math.abs(microns('s6', nominal)[1]! - it('7', nominal) - 0.4 * mean), `s at ${nominal}`).toBeLessThan(1.5);
  }
});

test('rules within the standard: H starts at the nominal, h ends there, g, f, e mirror G, F, E', () => {
  for (const nominal of inRanges)
    for (const grade of ['5', '6', '7', '8', '9', '11']) {
      expect(microns(`H${grade}`, nominal)[1]).toBe(0);
      expect(microns(`h${grade}`, nominal)[0]).toBe(0);
      for (const letter of ['d', 'e', 'f', 'g']) {
        const [upper, lower] = microns(letter + grade, nominal) as [number, number];
        expect(upper - lower).toBeCloseTo(it(grade, nominal), 9);
        expect(microns(letter.toUpperCase() + grade, nominal)).toEqual([-lower, -upper]);
      }
    }
});

/** Δ in µm for grades 3 to 8, range by range over 3 mm, as printed beside the deviations of holes in ISO 286-1. */
const DELTA = [
  [1, 1.5, 1, 3, 4, 6],
  [1, 1.5, 2, 3, 6, 7],
  [1, 2, 3, 3, 7, 9],
  [1.5, 2, 3, 4, 8, 12],
  [1.5, 3, 4, 5, 9, 14],
  [2, 3, 5, 6, 11, 16],
  [2, 4, 5, 7, 13, 19],
  [3, 4, 6, 7, 15, 23],
  [3, 4, 6, 9, 17, 26],
  [4, 4, 7, 9, 20, 29],
  [4, 5, 7, 11, 21, 32],
  [5, 5, 7, 13, 23, 34],
];

test('holes K to P are the shafts mirrored and raised by Δ', () => {
  const apart: string[] = [];
  for (const [i, row] of DELTA.entries())
    for (const [j, delta] of row.entries()) {
      const nominal = inRanges[i + 1]!;
      for (const letter of ['k', 'm', 'n', 'p', 'r', 's']) {
        if (j + 3 === 8 && 'prs'.includes(letter)) continue;
        // Grade 6 has the shaft's own lower deviation for every letter.
        const lower = microns(`${letter}6`, nominal)[1]!;
        const upper = microns(`${letter.toUpperCase()}${j + 3}`, nominal)[0]!;
        if (Math.abs(upper - (delta - lower)) > 1e-6) apart.push(`${letter.toUpperCase()}${j + 3} at ${nominal}`);
      }
    }
  // The standard's own exception: −9 instead of −11 µm.
  expect(apart).toEqual(['M6 at 300']);
  expect(microns('M6', 300)).toEqual([-9, -41]);
});

test('a fit of the hole basis and its partner of the shaft basis have the same play, for the sake of which there is Δ', () => {
  for (const nominal of inRanges.slice(1))
    for (const letter of ['k', 'n', 'p', 's']) {
      const hole = fitOf(`H7/${letter}6`, nominal);
      const shaft = fitOf(`${letter.toUpperCase()}7/h6`, nominal);
      expect([shaft.kind, shaft.clearance, shaft.interference]).toEqual([hole.kind, hole.clearance, hole.interference]);
    }
});

const failure = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    const { code, message } = error as FettleError;
    return `${code}: ${message}`;
  }
  return 'nothing failed';
};

test('what is not in the tables says so, with the nearest that is', () => {
  expect(failure(() => limitsOf('H7', 500.1))).toMatch(/^size-out-of-range: .* over 0 up to 500 mm, not 500.1 mm/);
  expect(failure(() => limitsOf('H7', 0))).toMatch(/^size-out-of-range/);
  expect(failure(() => limitsOf('H7', Number.NaN))).toMatch(/^size-out-of-range/);
  expect(failure(() => limitsOf('H19', 25))).toMatch(/^unknown-class: "H19" .* nearest is "H18"/);
  expect(failure(() => limitsOf('Js7', 25))).toMatch(/nearest is "JS7"/);
  expect(failure(() => limitsOf('7H', 25))).toMatch(/nearest is "H7"/);
  expect(failure(() => limitsOf('z6', 25))).toMatch(/nearest is "s6"/);
  expect(failure(() => limitsOf('', 25))).toMatch(/^unknown-class/);
  expect(failure(() => limitsOf('K9', 25))).toMatch(/^class-not-given: K9 for 25 mm/);
  expect(failure(() => limitsOf('H14', 1))).toMatch(/^class-not-given/);
  expect(failure(() => limitsOf('P2', 25))).toMatch(/^class-not-given/);
  expect(failure(() => fitOf('g6/H7', 25))).toMatch(/^unknown-fit: "g6\/H7" is a shaft with a hole/);
  expect(failure(() => fitOf('H7', 25))).toMatch(/^unknown-fit: "H7" is not a fit/);
});
