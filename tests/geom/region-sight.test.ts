import {
  brushRegion,
  checkPlan,
  createScan,
  FettleError,
  outlineRegion,
  runPlan,
  type Scan,
  seededRandom,
  spatialIndex,
  type Vec3,
  vec3,
} from '@fettle/geom';
import { expect, test } from 'vitest';

/** A square plate, x and y from 0 to 40, its faces at z = 0 (up) and z = −2 (down), a point each millimeter. */
function sheets(): Scan {
  const side = 41;
  const positions: number[] = [];
  const triangles: number[] = [];
  for (const [s, z] of [0, -2].entries())
    for (let j = 0; j < side; j++)
      for (let i = 0; i < side; i++) {
        const p = positions.length / 3;
        positions.push(i, j, z);
        if (i === 0 || j === 0) continue;
        const corners = [p - side - 1, p - side, p, p - side - 1, p, p - 1];
        triangles.push(...(s === 0 ? corners : corners.reverse()));
      }
  return createScan({
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(triangles),
    name: 'sheets.ply',
  });
}
const scan = sheets();
const at = (p: number): Vec3 => [0, 1, 2].map((k) => scan.positions[3 * p + k]) as unknown as Vec3;
const all = Array.from({ length: scan.positions.length / 3 }, (_, p) => p);
const refused = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return `${error.code}: ${error.message}`;
    throw error;
  }
  return 'no error';
};

test('a brush takes what lies within its radius of the way it went, from the side it is seen from', () => {
  const stroke: Vec3[] = [
    [5, 5, 0],
    [30, 5, 0],
    [30, 25, 0],
  ];
  const near = (p: Vec3): boolean =>
    // From each straight piece: beside it, or about its ends.
    [0, 1].some((i) => {
      const [a, b] = [stroke[i]!, stroke[i + 1]!];
      const t = vec3.dot(vec3.subtract(p, a), vec3.subtract(b, a)) / vec3.distance(a, b) ** 2;
      return vec3.distance(p, vec3.addScaled(a, vec3.subtract(b, a), Math.min(1, Math.max(0, t)))) <= 3;
    });
  expect([...brushRegion(scan, { stroke, radius: 3 })]).toEqual(all.filter((p) => near(at(p))));
  expect([...brushRegion(scan, { stroke, radius: 3, facing: [0, 0, 1] })]).toEqual(
    all.filter((p) => near(at(p)) && at(p)[2] === 0),
  );
  expect([...brushRegion(scan, { stroke: [[5, 5, 0]], radius: 0.5 })].map(at)).toEqual([[5, 5, 0]]);
});

test('an outline takes what lies inside it as seen, by the even-odd rule where it crosses itself', () => {
  const polygon: Vec3[] = [
    [2.5, 2.5, 90],
    [20.5, 2.5, -7],
    [20.5, 10.5, 0],
    [2.5, 10.5, 0],
  ];
  const inside = (p: number): boolean => {
    const [x, y] = at(p);
    return x > 2.5 && x < 20.5 && y > 2.5 && y < 10.5;
  };
  expect([...outlineRegion(scan, { polygon, along: [0, 0, -3] })]).toEqual(all.filter(inside));
  expect([...outlineRegion(scan, { polygon, along: [0, 0, -3], seen: true })]).toEqual(
    all.filter((p) => inside(p) && at(p)[2] === 0),
  );
  expect([...outlineRegion(scan, { polygon, along: [0, 0, 1], seen: true })]).toEqual(
    all.filter((p) => inside(p) && at(p)[2] === -2),
  );
  const bow: Vec3[] = [
    [0, 0, 0],
    [40, 40, 0],
    [40, 0, 0],
    [0, 40, 0],
  ];
  const taken = outlineRegion(scan, { polygon: bow, along: [0, 0, -1], seen: true });
  expect([...taken].map(at).some(([x, y]) => x === 20 && y === 5)).toBe(false);
  expect([...taken].map(at).some(([x, y]) => x === 5 && y === 20)).toBe(true);
});

test('what an outline calls seen, rays to the eye reach: a ball over a plate, from a slanted view', () => {
  const positions: number[] = [];
  const triangles: number[] = [];
  const patch = (rows: number, columns: number, place: (r: number, c: number) => Vec3): void => {
    const from = positions.length / 3;
    for (let r = 0; r <= rows; r++)
      for (let c = 0; c <= columns; c++) {
        positions.push(...place(r, c));
        if (r === 0 || c === 0) continue;
        const p = from + r * (columns + 1) + c;
        const q = p - columns - 1;
        triangles.push(q - 1, q, p, q - 1, p, p - 1);
      }
  };
  patch(120, 120, (r, c) => [c / 2 - 30, r / 2 - 30, 0]);
  patch(60, 120, (r, c) => {
    const [polar, turn] = [(Math.PI * (60 - r)) / 60, (2 * Math.PI * c) / 120];
    return [8 * Math.sin(polar) * Math.cos(turn), 8 * Math.sin(polar) * Math.sin(turn), 12 + 8 * Math.cos(polar)];
  });
  const whole = createScan({
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(triangles),
    name: 'ball.ply',
  });
  const along = vec3.normalize([0.5, 0.2, -1]);
  const window: Vec3[] = [
    [-60, -60, 0],
    [60, -60, 0],
    [60, 60, 0],
    [-60, 60, 0],
  ];
  const seen = new Set(outlineRegion(whole, { polygon: window, along, seen: true }));
  const index = spatialIndex(whole);
  const random = seededRandom(5);
  let agree = 0;
  const looked = 1500;
  for (let i = 0; i < looked; i++) {
    const p = Math.floor((random.next() * positions.length) / 3);
    const place = positions.slice(3 * p, 3 * p + 3) as unknown as Vec3;
    const hit = index.ray(vec3.addScaled(place, along, -0.05), vec3.negate(along));
    if (!hit === seen.has(p)) agree++;
  }
  // They differ where a point lies within a few cells behind an edge, or on the very limb of the ball.
  expect(agree / looked).toBeGreaterThan(0.97);
  const shadow = [...seen].filter(
    (p) => positions[3 * p + 2] === 0 && Math.hypot(positions[3 * p]! - 6, positions[3 * p + 1]! - 2.4) < 6,
  );
  expect(shadow).toEqual([]);
});

test('what cannot be brushed or outlined is refused in words', () => {
  const corner: Vec3 = [0, 0, 0];
  expect(refused(() => brushRegion(scan, { stroke: [], radius: 2 }))).toBe(
    'region-brush: A brush of 2 mm over 0 places chooses nothing. Give a radius above 0, and places of three numbers.',
  );
  expect(refused(() => brushRegion(scan, { stroke: [corner], radius: 2, facing: [0, 0, 0] }))).toBe(
    'region-brush: (0, 0, 0) is no direction. Give one of some length.',
  );
  expect(refused(() => brushRegion(scan, { stroke: [[0, 0, 50]], radius: 2 }))).toMatch(
    /^region-empty: sheets\.ply: the brush holds no point\. The nearest is 48 mm outside/,
  );
  expect(refused(() => outlineRegion(scan, { polygon: [corner, corner], along: [0, 0, 1] }))).toBe(
    'region-outline: An outline of 2 corners has no inside. Give three corners or more, of three numbers each.',
  );
  expect(refused(() => outlineRegion(scan, { polygon: [corner, corner, corner], along: [0, 0, 0] }))).toBe(
    'region-outline: (0, 0, 0) is no direction to look along. Give one of some length.',
  );
  const far: Vec3[] = [
    [100, 100, 0],
    [110, 100, 0],
    [110, 110, 0],
  ];
  expect(refused(() => outlineRegion(scan, { polygon: far, along: [0, 0, 1] }))).toMatch(
    /^region-empty: sheets\.ply: the outline holds no point: .* Draw it over the scan\.$/,
  );
});

test('a plan brushes and outlines in a frame as in the scan', () => {
  const plan = checkPlan({
    version: 1,
    title: 'Sheets',
    steps: [
      {
        step: 'region',
        id: 'upper',
        outline: {
          polygon: [
            [0, 0, 0],
            [40, 0, 0],
            [40, 40, 0],
            [0, 40, 0],
          ],
          along: [0, 0, -1],
          seen: true,
        },
      },
      { step: 'fit', id: 'top', shape: 'plane', to: 'upper' },
      { step: 'construct', id: 'middle', point: [20, 20, 0] },
      { step: 'construct', id: 'beside', point: [20, 30, 0] },
      { step: 'construct', id: 'line', through: ['middle', 'beside'] },
      { step: 'frame', id: 'datum', plane: 'top', line: 'line', origin: 'middle' },
      { step: 'region', id: 'spot', brush: { stroke: [[5, 0, 0]], radius: 1.2, facing: [0, 0, 1] }, in: 'datum' },
    ],
  });
  const spot = runPlan(plan, scan).outcomes.at(-1);
  // x of the frame runs along the scan's y.
  expect(spot?.kind === 'region' && [...spot.select].map(at)).toEqual([
    [20, 24, 0],
    [19, 25, 0],
    [20, 25, 0],
    [21, 25, 0],
    [20, 26, 0],
  ]);
});
