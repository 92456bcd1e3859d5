import { fitShape, type Section, seededRandom } from '@fettle/geom';
import { expect, test } from 'vitest';
import { polylinesOf, withoutFew } from '../../packages/geom/src/plan/steps/fit/few-decide.js';

/** Arcs in the plane z = 0, each a polyline of a section: center 0, from and to in degrees. */
function sectionOf(
  seed: number,
  arcs: readonly { radius: number; from: number; to: number; count: number }[],
): Section {
  const random = seededRandom(seed);
  return {
    plane: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] },
    origin: [0, 0, 0],
    x: [1, 0, 0],
    y: [0, 1, 0],
    polylines: arcs.map(({ radius, from, to, count }) => {
      const points = Float64Array.from(
        Array.from({ length: count }, (_, i) => {
          const a = ((from + ((to - from) * (i + 0.5)) / count) * Math.PI) / 180;
          const r = radius + 0.03 * random.normal();
          return [r * Math.cos(a), r * Math.sin(a), 0];
        }).flat(),
      );
      return { closed: false, points, flat: points.filter((_, k) => k % 3 < 2) };
    }),
  };
}

function measured(section: Section) {
  const positions = Float64Array.from(section.polylines.flatMap(({ points }) => Array.from(points)));
  const { plane } = section;
  const fit = fitShape('circle', { positions }, { plane });
  const tried = withoutFew(fit, polylinesOf(section, positions), (select) =>
    fitShape('circle', { positions, select }, { plane, initial: fit.feature }),
  );
  const standard = Math.sqrt(tried.uncertainty.covariance[35]!);
  return { fit, tried, standard, codes: tried.warnings.map(({ code }) => code) };
}

test('five points of another surface that pull a circle: warned of by name, and the ± holds the truth', () => {
  let held = 0;
  for (let seed = 1; seed <= 20; seed++) {
    // A bore of 52 mm seen over 25°, and a few points of its floor opposite, 8 mm inside it.
    const { fit, tried, standard, codes } = measured(
      sectionOf(seed, [
        { radius: 26, from: -12, to: 13, count: 20 },
        { radius: 18, from: 176, to: 184, count: 5 },
      ]),
    );
    expect(Math.abs(fit.feature.radius - 26)).toBeGreaterThan(2);
    expect(codes).toContain('few-points-decide');
    expect(tried.warnings.find(({ code }) => code === 'few-points-decide')!.message).toMatch(
      /^Piece 2 of the section, 5 of 25 points, decides?: without them the radius (moves by|is no longer determined)/,
    );
    if (Math.abs(fit.feature.radius - 26) < 2 * standard) held++;
  }
  expect(held).toBeGreaterThanOrEqual(18);
});

test('whole circles and clear arcs of many points rest on all of them', () => {
  let warned = 0;
  for (let seed = 1; seed <= 100; seed++) {
    const section = sectionOf(
      seed,
      seed % 2 ? [{ radius: 26, from: 0, to: 360, count: 200 }] : [{ radius: 26, from: 0, to: 120, count: 200 }],
    );
    if (measured(section).codes.includes('few-points-decide')) warned++;
  }
  expect(warned).toBeLessThanOrEqual(2);
});
