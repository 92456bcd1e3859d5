import { profileOf, type ScanNoise, unbentArcs, withScanNoise } from '@fettle/geom';
import { expect, test } from 'vitest';
import { roundedRectangle, sectionOf } from './outlines.js';

// A plate with fillets of 8 mm, cut at 0.2 mm: noise of 0.02 mm a point and waves of 0.03 mm alike over 5 mm, longer than an outline can
// tell from its fillets. By its own residuals alone the stated 95 % hold far fewer radii (the plain row); by the scan's noise about 95.
const plate = roundedRectangle(80, 50, 8);
const noise: ScanNoise = {
  from: 'stated',
  surfaces: [],
  // Points of this section err alone; a mesh's crossings share theirs, for which white noise counts 4/3.
  model: { white: (3 / 4) * 0.02 ** 2, terms: [{ kernel: 'gaussian', length: 5, variance: 0.03 ** 2 }] },
};

test('radii of an outline hold their stated 95 % under noise that the outline itself cannot show', () => {
  const held = { plain: 0, scan: 0, all: 0 };
  for (let seed = 1; seed <= 24; seed++) {
    const section = sectionOf(plate, { spacing: 0.25, noise: 0.02, waves: 0.03, alike: 5, seed });
    const plain = profileOf(section, 0, { tolerance: 0.06 });
    const grown = withScanNoise(plain, section, 0, noise);
    grown.pieces.forEach((piece, k) => {
      const own = plain.pieces[k];
      if (piece.kind !== 'arc' || own.kind !== 'arc' || Math.abs(piece.shape.radius - 8) > 1) return;
      held.all++;
      const off = Math.abs(piece.shape.radius - 8);
      if (off <= 1.96 * Math.sqrt(own.shape.covariance[8])) held.plain++;
      if (off <= 1.96 * Math.sqrt(piece.shape.covariance[8])) held.scan++;
    });
  }
  expect(held.all).toBeGreaterThan(80);
  // 1 in 20 outside, give or take: 0.95 − 2.5·√(0.95 · 0.05 / 90).
  expect(held.scan / held.all).toBeGreaterThan(0.89);
  expect(held.plain / held.all).toBeLessThan(0.6);
});

test('where the scan has less noise than the outline, nothing changes', () => {
  const section = sectionOf(plate, { spacing: 0.25, noise: 0.05, seed: 3 });
  const plain = profileOf(section);
  const quiet: ScanNoise = { from: 'stated', surfaces: [], model: { white: 1e-6, terms: [] } };
  expect(withScanNoise(plain, section, 0, quiet)).toBe(plain);
});

test('a straight side that long noise bows is a line: an arc whose ± reaches the straight line is none', () => {
  // Sides of 134 mm; waves of 0.05 mm alike over 30 mm bow stretches of them to radii of thousands of mm.
  const long = roundedRectangle(150, 60, 8);
  const slow: ScanNoise = {
    from: 'stated',
    surfaces: [],
    model: { white: 0.02 ** 2, terms: [{ kernel: 'gaussian', length: 30, variance: 0.05 ** 2 }] },
  };
  let bent = 0;
  for (const seed of [2, 3, 5, 8]) {
    const section = sectionOf(long, { spacing: 0.5, noise: 0.02, waves: 0.05, alike: 30, seed });
    const found = withScanNoise(profileOf(section, 0, { tolerance: 0.05 }), section, 0, slow);
    const straight = unbentArcs(found);
    bent += straight.length;
    const { pieces } = withScanNoise(profileOf(section, 0, { tolerance: 0.05, straight }), section, 0, slow);
    expect(pieces.filter((piece) => piece.kind === 'arc').map(({ shape }) => Math.round(shape.radius))).toEqual([
      8, 8, 8, 8,
    ]);
  }
  expect(bent).toBeGreaterThan(3);
});
