import { constrain, offers, profileOf } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { arc, line, polygon, rounded, roundedRectangle, sectionOf } from './outlines.js';

describe('a plate with rounded corners', () => {
  test.each([2.2, 5, 10])(
    'fillets of %d mm: right pieces in 40 of 40 noisy draws, radii inside their uncertainty',
    (r) => {
      let inside = 0;
      for (let seed = 1; seed <= 40; seed++) {
        const profile = profileOf(sectionOf(roundedRectangle(60, 40, r), { noise: 0.05, seed, offset: 1.7 * seed }));
        expect(profile.pieces.map((p) => p.kind).sort()).toEqual([...Array(4).fill('arc'), ...Array(4).fill('line')]);
        for (const p of profile.pieces)
          if (p.kind === 'arc' && Math.abs(p.shape.radius - r) <= 1.96 * Math.sqrt(p.shape.covariance[8])) inside++;
      }
      // 160 radii at a stated 95 %: fewer than 136 (85 %) would be a chance below 1 in 10,000 for unrelated radii.
      expect(inside).toBeGreaterThanOrEqual(136);
    },
  );

  test('without noise it comes out exactly: tangent fillets, area and centroid', () => {
    const profile = profileOf(sectionOf(roundedRectangle(60, 40, 5), {}));
    expect(profile.joins.map((j) => j.kind)).toEqual(Array(8).fill('tangent'));
    for (const p of profile.pieces) if (p.kind === 'arc') expect(p.shape.radius).toBeCloseTo(5, 9);
    expect(profile.area).toBeCloseTo(60 * 40 - (4 - Math.PI) * 25, 7);
    expect(profile.centroid![0]).toBeCloseTo(30, 8);
    expect(profile.centroid![1]).toBeCloseTo(20, 8);
  });

  test('parallel, square and level sides and equal fillets are offered; applied they hold exactly and cost little', () => {
    const section = sectionOf(roundedRectangle(60, 40, 5), { noise: 0.05, seed: 4 });
    const profile = profileOf(section);
    const kinds = new Set(offers(profile).map((o) => o.constraint.kind));
    for (const kind of ['parallel', 'square', 'equal-radius', 'horizontal', 'vertical'] as const)
      expect(kinds).toContain(kind);
    const arcs = profile.pieces.flatMap((p, i) => (p.kind === 'arc' ? [i] : []));
    const lines = profile.pieces.flatMap((p, i) => (p.kind === 'line' ? [i] : []));
    const held = constrain(profile, section, 0, [
      { kind: 'parallel', pieces: [lines[0], lines[2]] },
      { kind: 'square', pieces: [lines[0], lines[1]] },
      ...[1, 2, 3].map((k) => ({ kind: 'equal-radius', pieces: [arcs[0], arcs[k]] }) as const),
    ]);
    const shape = (i: number) => held.pieces[i].shape;
    const [p, q, s] = [shape(lines[0]), shape(lines[2]), shape(lines[1])];
    if (p.kind !== 'line' || q.kind !== 'line' || s.kind !== 'line') throw new Error('lines expected');
    expect(p.direction[0] * q.direction[1] - p.direction[1] * q.direction[0]).toBeCloseTo(0, 9);
    expect(p.direction[0] * s.direction[0] + p.direction[1] * s.direction[1]).toBeCloseTo(0, 9);
    const radii = arcs.map((i) => (shape(i) as { radius: number }).radius);
    for (const r of radii) expect(r).toBeCloseTo(radii[0], 9);
    // χ² of `count` conditions: its mean is count, its standard deviation √(2 count).
    expect(held.strain).toBeLessThan(held.count + 5 * Math.sqrt(2 * held.count));
  });
});

describe('a plate of a wavy casting', () => {
  test.each([1, 2, 4])(
    'waves of 0.1 mm alike over %d mm: right pieces in 8 of 8 draws without a tolerance given, radii inside their uncertainty',
    (alike) => {
      let inside = 0;
      for (let seed = 1; seed <= 8; seed++) {
        const cut = sectionOf(roundedRectangle(60, 40, 8), {
          noise: 0.02,
          waves: 0.1,
          alike,
          seed,
          offset: 1.7 * seed,
        });
        const profile = profileOf(cut);
        expect(profile.pieces.map((p) => p.kind).sort()).toEqual([...Array(4).fill('arc'), ...Array(4).fill('line')]);
        expect(profile.noise).toBeGreaterThan(0.015);
        expect(profile.noise).toBeLessThan(0.03);
        expect(profile.waves!.height).toBeGreaterThan(0.05);
        for (const p of profile.pieces)
          if (p.kind === 'arc' && Math.abs(p.shape.radius - 8) <= 1.96 * Math.sqrt(p.shape.covariance[8])) inside++;
      }
      // 32 radii at a stated 95 %: fewer than 25 would be a chance below 1 in 1,000 for unrelated radii.
      expect(inside).toBeGreaterThanOrEqual(25);
    },
    60_000,
  );

  test('sides no longer than the waves: a hexagon with fillets is one in 6 of 8 draws at least, and none is a circle', () => {
    const hexagon = [0, 60, 120, 180, 240, 300].map(
      (t) => [12 * Math.cos((t * Math.PI) / 180), 12 * Math.sin((t * Math.PI) / 180)] as const,
    );
    let right = 0;
    for (let seed = 1; seed <= 8; seed++) {
      const cut = sectionOf(rounded(hexagon, 3.5), { noise: 0.02, waves: 0.1, alike: 4, seed, offset: 1.7 * seed });
      const kinds = profileOf(cut).pieces.map((p) => p.kind);
      expect(kinds.length).toBeGreaterThan(3);
      if (kinds.length === 12 && kinds.filter((k) => k === 'arc').length === 6) right++;
    }
    expect(right).toBeGreaterThanOrEqual(6);
  }, 60_000);

  test('white noise is not taken for waves', () => {
    for (let seed = 1; seed <= 8; seed++)
      expect(profileOf(sectionOf(roundedRectangle(60, 40, 8), { noise: 0.05, seed })).waves).toBeUndefined();
  });

  test('a tolerance given is the last word on what is shape: no waves are looked for', () => {
    const cut = sectionOf(roundedRectangle(60, 40, 8), { noise: 0.02, waves: 0.1, seed: 3 });
    expect(profileOf(cut, 0, { tolerance: 0.2 }).waves).toBeUndefined();
  });

  test('square sides are offered in waves too; held, they cost no more than chance does', () => {
    const cut = sectionOf(roundedRectangle(60, 40, 8), { noise: 0.02, waves: 0.1, seed: 3 });
    const profile = profileOf(cut);
    const square = offers(profile).filter(({ constraint }) => constraint.kind === 'square');
    expect(square.length).toBeGreaterThan(0);
    for (const { constraint, cost } of square) {
      const held = constrain(profile, cut, 0, [constraint]);
      expect(held.waves).toEqual(profile.waves);
      // χ² of one freedom: an offer is within two standard uncertainties, and the tangencies it meets take their share.
      expect(held.strain).toBeLessThan(8);
      // The waves' height is what the pieces lie off by anyhow; the cost stays far below.
      expect(cost).toBeLessThan(0.05);
    }
  });
});

test('a triangle: corners where the sides meet, though the scan rounds them', () => {
  // Legs of 50 and 30 with a right angle between them, every corner rounded by 0.5 mm as a scanner does.
  const pieces = rounded(
    [
      [0, 0],
      [50, 0],
      [0, 30],
    ],
    0.5,
  );
  const profile = profileOf(sectionOf(pieces, { noise: 0.02, seed: 3 }));
  expect(profile.pieces.map((p) => p.kind)).toEqual(['line', 'line', 'line']);
  const corners = profile.joins.map((j) => j.at);
  for (const [x, y] of [
    [0, 0],
    [50, 0],
    [0, 30],
  ]) {
    const nearest = Math.min(...corners.map((c) => Math.hypot(c[0] - x, c[1] - y)));
    expect(nearest).toBeLessThan(0.03);
  }
  const turns = profile.joins.map((j) => (Math.abs(j.turn) * 180) / Math.PI).sort((a, b) => a - b);
  expect(turns[0]).toBeCloseTo(90, 0);
  expect(turns[2]).toBeCloseTo(180 - (Math.atan2(30, 50) * 180) / Math.PI, 0);
});

describe('corners are corners, not arcs of next to no curvature', () => {
  const hexagon = [0, 60, 120, 180, 240, 300].map(
    (t) => [12 * Math.cos((t * Math.PI) / 180), 12 * Math.sin((t * Math.PI) / 180)] as const,
  );
  const angle = [
    [0, 0],
    [40, 0],
    [40, 10],
    [10, 10],
    [10, 40],
    [0, 40],
  ] as const;
  test.each([
    ['hexagon', hexagon],
    ['angle section', angle],
  ])('%s: lines only in 30 of 30 draws; corners inside their uncertainty', (_, corners) => {
    let inside = 0;
    let all = 0;
    for (let seed = 1; seed <= 30; seed++) {
      const profile = profileOf(sectionOf(polygon(corners), { noise: 0.05, seed, offset: 1.7 * seed }));
      expect(profile.pieces.map((p) => p.kind)).toEqual(Array(6).fill('line'));
      for (const { at, positionCovariance } of profile.joins) {
        const [x, y] = corners.reduce((best, c) =>
          Math.hypot(c[0] - at[0], c[1] - at[1]) < Math.hypot(best[0] - at[0], best[1] - at[1]) ? c : best,
        );
        const [xx, xy, yy] = positionCovariance!;
        const [dx, dy] = [at[0] - x, at[1] - y];
        all++;
        // χ² of two freedoms: under 5.99 in 95 %.
        if ((dx * dx * yy - 2 * dx * dy * xy + dy * dy * xx) / (xx * yy - xy * xy) <= 5.99) inside++;
      }
    }
    expect(inside / all).toBeGreaterThan(0.88);
  });
});

test('wherever the polyline happens to begin, the pieces are the same', () => {
  const slot = [line(5, 0, 35, 0), arc(35, 5, 5, -90, 90), line(35, 10, 5, 10), arc(5, 5, 5, 90, 270)];
  const pieces = slot.length;
  for (let offset = 0; offset < 91; offset += 3.03)
    expect(profileOf(sectionOf(slot, { noise: 0.05, seed: 81, offset })).pieces).toHaveLength(pieces);
});

describe('pieces picked by hand', () => {
  const section = sectionOf(roundedRectangle(60, 40, 5), { noise: 0.05, seed: 7 });

  test('a bulge the noise hides is a line to the split, an arc of its radius to who picks it as one', () => {
    // 40 mm of a circle of 3,333 mm: 0.06 mm of bulge in 0.05 mm of noise; then a side of 15 mm.
    const half = (180 / Math.PI) * (20 / 3333);
    const [x, y] = [3333 * Math.sin(20 / 3333), -3333 * Math.cos(20 / 3333)];
    const bulge = [arc(0, 0, 3333, -90 - half, -90 + half), line(x, y, x, y + 15)];
    const cut = sectionOf(bulge, { closed: false, noise: 0.05, seed: 7 });
    expect(profileOf(cut).pieces.map((p) => p.kind)).toEqual(['line', 'line']);
    const profile = profileOf(cut, 0, { pieces: [{ from: [-20, -3333, 0], to: [19, -3333, 0], as: 'arc' }] });
    expect(profile.pieces.map((p) => [p.kind, p.byHand])).toEqual([
      ['arc', 0],
      ['line', undefined],
    ]);
    const [picked] = profile.pieces;
    if (picked.kind !== 'arc') throw new Error('an arc expected');
    expect(Math.abs(picked.shape.radius - 3333)).toBeLessThan(2.5 * Math.sqrt(picked.shape.covariance[8]));
  });

  test('a picked line goes on to where the outline leaves it', () => {
    const open = sectionOf([line(0, 0, 20, 0), line(20, 0, 20, 15)], { closed: false, noise: 0.02 });
    const profile = profileOf(open, 0, { pieces: [{ from: [2, 0, 0], to: [18, 0, 0], as: 'line' }] });
    const [picked] = profile.pieces.filter((p) => p.byHand !== undefined);
    if (picked.kind !== 'line') throw new Error('a line expected');
    expect(Math.abs(picked.shape.direction[1])).toBeLessThan(0.005);
    expect(picked.to - picked.from).toBeGreaterThan(98);
  });

  test('picks too close, or sharing a stretch, are refused', () => {
    const pick = (from: number, to: number) => ({ from: [from, 0, 0], to: [to, 0, 0], as: 'line' }) as const;
    expect(() => profileOf(section, 0, { pieces: [pick(20, 20.3)] })).toThrow(/Piece 1: .*a line needs 3/);
    expect(() => profileOf(section, 0, { pieces: [pick(10, 30), pick(25, 45)] })).toThrow(
      /Pieces 1 and 2 share a stretch/,
    );
  });
});

test('constraints that cannot hold together are refused', () => {
  const section = sectionOf(roundedRectangle(60, 40, 5), { noise: 0.05, seed: 4 });
  const profile = profileOf(section);
  const lines = profile.pieces.flatMap((p, i) => (p.kind === 'line' ? [i] : []));
  const asked = (['parallel', 'square'] as const).map((kind) => ({ kind, pieces: [lines[0], lines[1]] }) as const);
  expect(() => constrain(profile, section, 0, asked)).toThrow(/cannot all hold: parallel of .* square of/);
  expect(() => constrain(profile, section, 0, [{ kind: 'vertical', pieces: [99] }])).toThrow(
    /vertical of piece 99: the profile has pieces 0 to 7/,
  );
});

test('a full circle is one arc all the way round', () => {
  const profile = profileOf(sectionOf([arc(3, -2, 8, 0, 360)], { noise: 0.02 }));
  expect(profile.pieces).toHaveLength(1);
  const [piece] = profile.pieces;
  if (piece.kind !== 'arc') throw new Error('an arc expected');
  expect(piece.sweep).toBeCloseTo(2 * Math.PI, 12);
  expect(piece.shape.radius).toBeCloseTo(8, 2);
  expect(profile.area).toBeCloseTo(Math.PI * piece.shape.radius ** 2, 9);
  expect(profile.centroid![0]).toBeCloseTo(3, 2);
});

test('an open S of two arcs: opposite senses, tangent in the middle', () => {
  const profile = profileOf(
    sectionOf([arc(0, 0, 10, 180, 360), arc(18, 0, 8, 180, 0)], { noise: 0.03, closed: false, seed: 2 }),
  );
  expect(profile.closed).toBe(false);
  expect(profile.pieces.map((p) => p.kind)).toEqual(['arc', 'arc']);
  const [a, b] = profile.pieces;
  if (a.kind !== 'arc' || b.kind !== 'arc') throw new Error('arcs expected');
  expect(Math.sign(a.sweep)).toBe(1);
  expect(Math.sign(b.sweep)).toBe(-1);
  expect(profile.joins).toHaveLength(1);
  expect(profile.joins[0].kind).toBe('tangent');
});

test('what cannot be done is said', () => {
  const section = sectionOf([line(0, 0, 2, 0)], { closed: false });
  expect(() => profileOf(section)).toThrow(/has 10 points; a profile needs 12 or more/);
  expect(() => profileOf(section, 1)).toThrow(/polyline 1: the section has 1/);
  const plate = sectionOf(roundedRectangle(60, 40, 5), {});
  const profile = profileOf(plate);
  const arcs = profile.pieces.flatMap((p, i) => (p.kind === 'arc' ? [i] : []));
  expect(() => constrain(profile, plate, 0, [{ kind: 'parallel', pieces: [arcs[0], arcs[1]] }])).toThrow(
    /it is for lines/,
  );
});
