import { sizeInClass, sizeInClassInWords } from '@fettle/geom';
import { expect, test } from 'vitest';

// ISO 286-2, 25 mm, from memory: H6 +13, H7 +21, H8 +33, H9 +52, H10 +84, H11 +130, all over 0; g6 −7/−20 µm.
// ISO 14253-1, from memory: what with all its ± lies between the limits is within, what with all of it lies beyond is outside,
// and of the rest neither can be stated.

test.each([
  [25.01, 0.01, 'within'],
  [25.01, 0.011, 'open'],
  [25.03, 0.008, 'outside'],
  [25.03, 0.009, 'open'],
  [24.99, 0.009, 'outside'],
  [24.99, 0.011, 'open'],
  [25.0, undefined, 'within'],
  [25.021, undefined, 'within'],
  [25.022, undefined, 'outside'],
] as const)('25 H7 measured %d ± %s mm: %s', (measured, uncertainty, verdict) => {
  expect(sizeInClass('H7', 25, measured, uncertainty).verdict).toBe(verdict);
});

test.each([
  // Upper limits 0.012, 0.031, 0.063 and 0.109 above that of H7, that of H6 0.008 under it.
  ['H7', 0.1, 'H10'],
  ['H7', 0.11, 'H11'],
  ['H7', 0.035, 'H9'],
  ['H7', 0.013, 'H8'],
  ['H7', 0.0115, 'H6'],
  ['H7', 0.0079, undefined],
  // H12 +210: 0.08 above H11.
  ['H11', 0.1, 'H12'],
  // g7 −7/−28: 0.008 below g6.
  ['g6', 0.009, 'g7'],
] as const)(
  'of a size known no better than that, %s ± %d cannot be told from %s',
  (toleranceClass, uncertainty, alike) => {
    const edge = sizeInClass(toleranceClass, 25, 25).limits.largest.mm;
    expect(sizeInClass(toleranceClass, 25, edge, uncertainty).alike).toBe(alike);
  },
);

test('what is settled names no other class, and what holds no ± is never open', () => {
  expect(sizeInClass('H7', 25, 25.01, 0.01)).not.toHaveProperty('alike');
  expect(sizeInClass('H7', 25, 26, 0.1)).not.toHaveProperty('alike');
  expect(sizeInClass('H7', 25, 25.01)).not.toHaveProperty('uncertainty');
});

test('in words', () => {
  expect(sizeInClassInWords(sizeInClass('H7', 25, 25.0123456, 0.1))).toBe(
    'measured 25.01 ± 0.1 mm: within H7 or outside, the ± does not tell; it cannot tell H7 from H10. To be sure, measure it by an ' +
      'instrument good to ± 0.002 mm',
  );
  expect(sizeInClassInWords(sizeInClass('H7', 25, 25.01, 0.005))).toBe('measured 25.01 ± 0.005 mm: within H7');
  expect(sizeInClassInWords(sizeInClass('g6', 25, 25.01))).toBe('measured 25.01 mm: outside g6');
  // Better known than a tenth of the tolerance no other instrument settles it.
  expect(sizeInClassInWords(sizeInClass('H7', 25, 25.0205, 0.0015))).toBe(
    'measured 25.0205 ± 0.0015 mm: within H7 or outside, the ± does not tell; it is right at the limit',
  );
});

test('classes the tables do not have are refused', () => {
  expect(() => sizeInClass('Z7', 25, 25)).toThrow(expect.objectContaining({ code: 'unknown-class' }));
});
