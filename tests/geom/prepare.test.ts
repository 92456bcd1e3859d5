import {
  cloudPieces,
  createScan,
  crop,
  dropDuplicateTriangles,
  dropPieces,
  dropSlivers,
  dropStrays,
  FettleError,
  frameOf,
  gone,
  type Prepared,
  pieces,
  regionAfter,
  removedInWords,
  removedPart,
  restore,
  type Scan,
  scaleByKnownLength,
  seededRandom,
  thin,
  weld,
} from '@fettle/geom';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { face, faceWithSpecks } from './prepare-shapes.js';

const code = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return error.code;
    throw error;
  }
  return 'no error';
};
const message = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    return (error as Error).message;
  }
  return '';
};
const pointCount = (scan: Scan): number => scan.positions.length / 3;
const triangleCount = (scan: Scan): number => (scan.triangles?.length ?? 0) / 3;
const place = (scan: Scan, p: number): number[] => [...scan.positions.subarray(3 * p, 3 * p + 3)];
const sorted = (...parts: Uint32Array[]): number[] => parts.flatMap((part) => [...part]).sort((a, b) => a - b);
const upTo = (count: number): number[] => Array.from({ length: count }, (_, i) => i);

/** What holds of every preparation that only takes away: all is either kept or removed, and what is kept is as it was. */
function expectHonest(prepared: Prepared): void {
  const { scan, from, keptPoints, keptTriangles, removedPoints, removedTriangles, into } = prepared;
  expect(sorted(keptPoints, removedPoints)).toEqual(upTo(pointCount(from)));
  expect(sorted(keptTriangles, removedTriangles)).toEqual(upTo(triangleCount(from)));
  expect(pointCount(scan)).toBe(keptPoints.length);
  expect(triangleCount(scan)).toBe(keptTriangles.length);
  for (let i = 0; i < keptPoints.length; i++) {
    const p = keptPoints[i];
    expect(into[p]).toBe(i);
    for (let k = 0; k < 3; k++) {
      if (scan.positions[3 * i + k] !== from.positions[3 * p + k]) expect.unreachable(`point ${p} moved`);
      if (scan.normals?.[3 * i + k] !== from.normals?.[3 * p + k]) expect.unreachable(`normal ${p} changed`);
      if (scan.colors?.[3 * i + k] !== from.colors?.[3 * p + k]) expect.unreachable(`color ${p} changed`);
    }
  }
  for (const p of removedPoints) expect(into[p]).toBe(gone);
  const corners = from.triangles ?? new Uint32Array();
  const expected = [...keptTriangles].flatMap((t) => [0, 1, 2].map((k) => into[corners[3 * t + k]]));
  expect([...(scan.triangles ?? [])]).toEqual(expected);
}

/** All removed points given back make the scan what it was, digit for digit. */
function expectBack(prepared: Prepared): void {
  const back = restore(prepared, prepared.removedPoints);
  expect(back.positions).toEqual(prepared.from.positions);
  expect(back.triangles).toEqual(prepared.from.triangles);
  expect(back.normals).toEqual(prepared.from.normals);
  expect(back.colors).toEqual(prepared.from.colors);
}

// The face is 20 mm square in steps of 1 mm: what is inside each shape can be counted.
const scan = faceWithSpecks(20, 3);
const onFace = 21 * 21;

test('a crop keeps the points inside a box, those on its boundary too, and the triangles that are whole', () => {
  const box = { min: [2, 3, -1], max: [5, 7, 1] } as const;
  const kept = crop(scan, { box });
  expect(pointCount(kept.scan)).toBe(4 * 5);
  expect(triangleCount(kept.scan)).toBe(2 * 3 * 4);
  expectHonest(kept);
  expectBack(kept);

  const dropped = crop(scan, { box }, { drop: true });
  expect(pointCount(dropped.scan)).toBe(pointCount(scan) - 20);
  expect(sorted(kept.keptPoints, dropped.keptPoints)).toEqual(upTo(pointCount(scan)));
  expectHonest(dropped);
  expectBack(dropped);
});

test('a crop to a sphere and to a half-space, in scan axes and in a frame', () => {
  // Lattice points no farther than 3 from a lattice point: 29 (Gauss circle problem, N(3), OEIS A000328).
  expect(pointCount(crop(scan, { sphere: { center: [10, 10, 0], radius: 3 } }).scan)).toBe(29);
  const half = crop(scan, { halfSpace: { point: [0, 0, 2], normal: [0, 0, 5] } });
  expect(pointCount(half.scan)).toBe(9);
  expectHonest(half);

  // x of this frame is -y of the scan, its origin at (20, 20, 0).
  const frame = frameOf([20, 20, 0], [0, -1, 0], [1, 0, 0]);
  const strip = crop(scan, { halfSpace: { point: [18, 0, 0], normal: [1, 0, 0] } }, { frame });
  expect([...strip.keptPoints].every((p) => place(scan, p)[1] <= 2)).toBe(true);
  expect(pointCount(strip.scan)).toBe(3 * 21 + 9);
  const corner = crop(scan, { box: { min: [0, -1, -1], max: [1, 0, 1] } }, { frame });
  expect([...corner.keptPoints].map((p) => place(scan, p))).toEqual([
    [19, 19, 0],
    [20, 19, 0],
    [19, 20, 0],
    [20, 20, 0],
  ]);
});

test('a crop that holds nothing says how far off the scan is; leaving out where nothing is changes nothing', () => {
  const away = { box: { min: [0, 0, 30], max: [1, 1, 31] } } as const;
  expect(message(() => crop(scan, away))).toBe(
    'face.ply: the box holds no point. The nearest is 21.02 mm outside, at (2, 0, 9) mm in scan axes. Move the box or make it larger.',
  );
  expect(crop(scan, away, { drop: true }).scan).toBe(scan);
  expect(code(() => crop(scan, { sphere: { center: [0, 0, 0], radius: 99 } }, { drop: true }))).toBe('prepare-empty');
  expect(code(() => crop(scan, { halfSpace: { point: [0, 0, 0], normal: [0, 0, 0] } }))).toBe('crop-half-space');
  expect(code(() => crop(scan, { halfSpace: { point: [0, 0, 99], normal: [0, 0, 1] } }))).toBe('region-empty');
});

test('specks go by area, by number of triangles and by share of the largest piece', () => {
  for (const limits of [{ area: 0.51 }, { triangles: 2 }, { share: 0.00126 }, { area: 0.1, triangles: 2 }]) {
    const prepared = dropPieces(scan, limits);
    expect(pointCount(prepared.scan)).toBe(onFace);
    expect(prepared.keptPieces).toHaveLength(1);
    expect(prepared.removedPieces.map(({ area }) => area)).toEqual([0.5, 0.5, 0.5]);
    expectHonest(prepared);
    expectBack(prepared);
  }
  // 0.5 mm² of 400 mm² is a share of 0.00125.
  for (const limits of [{ area: 0.49 }, { triangles: 1 }, { share: 0.00124 }])
    expect(dropPieces(scan, limits).scan).toBe(scan);
});

test('a single speck is given back without the others, with its triangle', () => {
  const prepared = dropPieces(scan, { triangles: 2 });
  const second = Uint32Array.of(onFace + 3, onFace + 4, onFace + 5);
  const back = restore(prepared, second);
  expect(pieces(back).pieces.map(({ area }) => area)).toEqual([400, 0.5]);
  expect(place(back, onFace)).toEqual([1, 0, 7]);
  expect(triangleCount(restore(prepared, second.subarray(0, 2)))).toBe(800);
  expect(restore(prepared)).toBe(scan);
});

test('what was removed is a scan of its own', () => {
  const part = removedPart(dropPieces(scan, { triangles: 2 }))!;
  expect([pointCount(part), triangleCount(part)]).toEqual([9, 3]);
  expect(place(part, 8)).toEqual([2, 1, 9]);
  expect(part.name).toBe('face.ply');
  expect(removedPart(dropPieces(scan, { triangles: 1 }))).toBeUndefined();
  expect(removedInWords(dropPieces(scan, { triangles: 2 }))).toBe('3 of 803 triangles and 9 of 450 points');
});

test('pieces of a cloud are its points near each other; the small ones go', () => {
  const random = seededRandom(12);
  const blob = (count: number, x: number) =>
    Array.from({ length: count }, () => [x + random.next(), random.next(), random.next()]).flat();
  // Cubes of 1 mm: 1,000, 300 and 40 points, 5 mm apart, and a stray.
  const cloud = createScan({ positions: [...blob(40, 0), ...blob(1000, 6), 3, 0, 0, ...blob(300, 12)], name: 'cloud' });
  const found = cloudPieces(cloud, 1);
  expect(found.pieces.map((piece) => piece.points)).toEqual([1000, 300, 40, 1]);
  expect([0, 40, 1040, 1041].map((p) => found.labels[p])).toEqual([2, 0, 3, 1]);
  expect(
    cloudPieces(cloud)
      .pieces.slice(0, 2)
      .map((piece) => piece.points),
  ).toEqual([1000, 300]);
  expect(cloudPieces(cloud, 10).pieces).toHaveLength(1);

  const kept = dropPieces(cloud, { points: 50, gap: 1 });
  expect(kept.scan.positions).toEqual(
    Float64Array.from([...cloud.positions.subarray(120, 3120), ...cloud.positions.subarray(3123)]),
  );
  expect(kept.removedPieces.map((piece) => piece.points)).toEqual([40, 1]);
  expect(dropPieces(cloud, { share: 0.4, gap: 1 }).keptPieces).toHaveLength(1);
  expect(restore(kept).positions).toEqual(cloud.positions);
  expect(message(() => cloudPieces(cloud, 0))).toContain('a distance above 0 mm, not 0');
  expect(code(() => dropPieces(cloud, { triangles: 3 }))).toBe('prepare-cloud');
  expect(code(() => dropPieces(scan, { points: 3 }))).toBe('prepare-mesh');
  expect(message(() => dropPieces(cloud, { points: -1 }))).toContain('dropped under a number of points above 0');
});

test('pieces of nothing, of a cloud, or under no limit are refused', () => {
  const cloud = createScan({ positions: [0, 0, 0, 1, 0, 0] });
  expect(code(() => dropPieces(cloud, { area: 1 }))).toBe('prepare-cloud');
  expect(code(() => dropPieces(scan, {}))).toBe('prepare-limit');
  expect(code(() => dropPieces(scan, { area: -1 }))).toBe('prepare-limit');
  expect(code(() => dropPieces(scan, { share: 1.5 }))).toBe('prepare-limit');
  expect(code(() => dropPieces(scan, { area: 1000 }))).toBe('prepare-empty');
  expect(message(() => dropPieces(scan, { area: 1000 }))).toContain('leaves none of 450 points');
});

test('strays of a cloud go, a pair of them too; the rim and the corners of a grid stay', () => {
  const { positions } = face(30);
  const strays = [15, 15, 8, 15.5, 15, 8, -9, 3, 0, 500, 500, 500];
  const cloud = createScan({ positions: [...positions, ...strays] });
  const prepared = dropStrays(cloud);
  expect([...prepared.removedPoints]).toEqual(upTo(4).map((i) => 31 * 31 + i));
  // The mean of four neighbors at 1 and four at √2.
  expect(prepared.usual).toBeCloseTo((1 + Math.SQRT2) / 2, 12);
  expectHonest(prepared);
  expectBack(prepared);
});

test('of uniformly scattered points few are strays, and a stray 50 mm out does not hide those 8 mm out', () => {
  const random = seededRandom(3);
  const positions = Array.from({ length: 4000 }, () => [60 * random.next(), 60 * random.next(), 0]).flat();
  const cloud = createScan({ positions: [...positions, 30, 30, 8, 30, 30, 50] });
  const { removedPoints } = dropStrays(cloud);
  expect([...removedPoints.slice(-2)]).toEqual([4000, 4001]);
  expect(removedPoints.length).toBeLessThan(2 + 0.005 * 4000);
});

test('strays of a mesh, or told by nothing, are refused', () => {
  const cloud = createScan({ positions: [0, 0, 0, 1, 0, 0] });
  expect(code(() => dropStrays(scan))).toBe('prepare-mesh');
  expect(code(() => dropStrays(cloud, { neighbors: 0 }))).toBe('prepare-limit');
  expect(code(() => dropStrays(cloud, { sigmas: Number.NaN }))).toBe('prepare-limit');
  expect(dropStrays(cloud).scan).toBe(cloud);
});

test('thinning leaves one point a cell: the one nearest to the mean, or the mean', () => {
  // Two cells of 2 mm: means (0.5, 0, 0) and (3, 0, 0); the cells go out from the least coordinates.
  const positions = [0, 0, 0, 3.4, 0, 0, 0.6, 0, 0, 0.9, 0, 0, 2.6, 0, 0, 2.9, 0, 0, 3.1, 0, 0];
  const normals = [0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 1, 0, 0, 1, 0, 0, 0, 1];
  const colors = positions.map((_, i) => (i < 3 ? 10 : 40));
  const cloud = createScan({ positions, normals, colors });
  const nearest = thin(cloud, { cell: 2 });
  expect([...nearest.keptPoints]).toEqual([2, 5]);
  expect([...nearest.into]).toEqual([0, 1, 0, 0, 1, 1, 1]);
  expect([...nearest.scan.positions]).toEqual([0.6, 0, 0, 2.9, 0, 0]);
  expectBack(nearest);

  const mean = thin(cloud, { cell: 2, keep: 'mean' });
  expect(mean.scan.positions[0]).toBeCloseTo(0.5, 15);
  expect(mean.scan.positions[3]).toBeCloseTo(3, 15);
  expect([...mean.scan.normals!]).toEqual([0, 0, 1, 0, Math.fround(Math.SQRT1_2), Math.fround(Math.SQRT1_2)]);
  expect([...mean.scan.colors!]).toEqual([30, 30, 30, 40, 40, 40]);
  expect(code(() => restore(mean, Uint32Array.of(0)))).toBe('prepare-restore');
  expect(restore(mean)).toBe(cloud);
});

test('a thinned cloud has no two points in a cell, and no cell is emptied', () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 400 }), fc.double({ min: 0.3, max: 6, noNaN: true }), (count, cell) => {
      const random = seededRandom(count);
      const positions = Array.from({ length: 3 * count }, () => 10 * random.next() - 5);
      const cloud = createScan({ positions });
      const least = [0, 1, 2].map((k) => Math.min(...positions.filter((_, i) => i % 3 === k)));
      const cellOf = (p: number) =>
        place(cloud, p)
          .map((c, k) => Math.floor((c - least[k]) / cell))
          .join();
      const { keptPoints } = thin(cloud, { cell });
      const cells = [...keptPoints].map(cellOf);
      expect(new Set(cells).size).toBe(cells.length);
      expect(new Set(cells)).toEqual(new Set(upTo(count).map(cellOf)));
    }),
    { numRuns: 40, seed: 7 },
  );
  expect(code(() => thin(scan, { cell: 1 }))).toBe('prepare-mesh');
  expect(code(() => thin(createScan({ positions: [0, 0, 0] }), { cell: 0 }))).toBe('prepare-limit');
});

test('a soup of triangles welds to the mesh it was cut from', () => {
  const { positions, triangles } = face(12);
  const soup = createScan({
    positions: triangles.flatMap((p) => positions.slice(3 * p, 3 * p + 3)),
    triangles: triangles.map((_, i) => i),
  });
  const prepared = weld(soup);
  expect(pointCount(prepared.scan)).toBe(13 * 13);
  expect(triangleCount(prepared.scan)).toBe(2 * 12 * 12);
  expect(pieces(soup).pieces).toHaveLength(288);
  expect(pieces(prepared.scan).pieces).toHaveLength(1);
  expect(pieces(prepared.scan).pieces[0].area).toBe(144);
  // Each corner is where it was.
  for (let c = 0; c < triangles.length; c++)
    expect(place(prepared.scan, prepared.scan.triangles![c])).toEqual(place(soup, c));
  expect(code(() => restore(prepared, Uint32Array.of(3)))).toBe('prepare-restore');
});

test('-0 and 0 are one place; the next number is another', () => {
  const cloud = createScan({ positions: [0, 1, 2, -0, 1, 2, Number.MIN_VALUE, 1, 2] });
  expect([...weld(cloud).into]).toEqual([0, 0, 1]);
});

test('welding by distance merges no chain: no point goes farther than that', () => {
  const line = createScan({ positions: upTo(7).flatMap((i) => [0.1 * i, 0, 0]) });
  expect([...weld(line, { within: 0.15 }).into]).toEqual([0, 0, 1, 1, 2, 2, 3]);
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 300 }), fc.double({ min: 0.01, max: 1, noNaN: true }), (count, within) => {
      const random = seededRandom(count);
      const cloud = createScan({ positions: Array.from({ length: 3 * count }, () => 3 * random.next()) });
      const { keptPoints, into } = weld(cloud, { within });
      const off = (p: number, q: number) =>
        Math.hypot(...place(cloud, p).map((c, k) => c - cloud.positions[3 * q + k]));
      let apart = Infinity;
      for (const p of keptPoints) for (const q of keptPoints) if (p < q) apart = Math.min(apart, off(p, q));
      expect(apart).toBeGreaterThan(within);
      expect(Math.max(...upTo(count).map((p) => off(p, keptPoints[into[p]])))).toBeLessThanOrEqual(within + 1e-12);
    }),
    { numRuns: 30, seed: 2 },
  );
  expect(code(() => weld(line, { within: -1 }))).toBe('prepare-limit');
});

test('triangles that lose a corner by welding go', () => {
  const mesh = createScan({
    positions: [0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 1.001, 0, 1, 1, 0],
    triangles: [0, 1, 2, 2, 1, 3, 3, 1, 4],
  });
  const prepared = weld(mesh, { within: 0.01 });
  expect([...prepared.removedTriangles]).toEqual([1]);
  expect([...prepared.removedPoints]).toEqual([3]);
  expect([...prepared.scan.triangles!]).toEqual([0, 1, 2, 2, 1, 3]);
});

test('of triangles with the same corners the first stays, whichever way they run', () => {
  const { positions, triangles } = face(2);
  const mesh = createScan({
    positions,
    triangles: [...triangles, ...triangles.slice(3, 6), triangles[2], triangles[1], triangles[0], ...[0, 1, 8]],
  });
  const prepared = dropDuplicateTriangles(mesh);
  expect([...prepared.removedTriangles]).toEqual([8, 9]);
  expect(pointCount(prepared.scan)).toBe(9);
  expectHonest(prepared);
  expect(restore(prepared)).toBe(mesh);
  expect(dropDuplicateTriangles(scan).scan).toBe(scan);
});

test('slivers go by their least height: without area by default', () => {
  // Heights 0 (three points in a row), 0 (a corner named twice), 0.01, 1/√2.
  const mesh = createScan({
    positions: [0, 0, 0, 1, 0, 0, 2, 0, 0, 1, 0.01, 0, 0, 1, 0],
    triangles: [0, 1, 2, 0, 0, 4, 0, 2, 3, 0, 1, 4],
  });
  expect([...dropSlivers(mesh).removedTriangles]).toEqual([0, 1]);
  expect([...dropSlivers(mesh, { height: 0.0101 }).removedTriangles]).toEqual([0, 1, 2]);
  expect([...dropSlivers(mesh, { height: 0.708 }).removedTriangles]).toEqual([0, 1, 2, 3]);
  expectHonest(dropSlivers(mesh));
  expect(code(() => dropSlivers(mesh, { height: -1 }))).toBe('prepare-limit');
});

test('a region keeps its points through a preparation, less those that are gone', () => {
  const prepared = crop(scan, { box: { min: [0, 1, -1], max: [20, 20, 1] } });
  const region = Uint32Array.of(25, 3, 21, 22);
  const after = regionAfter(prepared, region);
  expect([...after].map((p) => place(prepared.scan, p))).toEqual([
    [0, 1, 0],
    [1, 1, 0],
    [4, 1, 0],
  ]);
});

test('what cloud or mesh is cropped at random, nothing is lost and all comes back', () => {
  fc.assert(
    fc.property(
      fc.tuple(fc.double({ min: -2, max: 22, noNaN: true }), fc.double({ min: -2, max: 22, noNaN: true })),
      fc.double({ min: 0.5, max: 30, noNaN: true }),
      fc.boolean(),
      ([x, y], radius, drop) => {
        let prepared: Prepared;
        try {
          prepared = crop(scan, { sphere: { center: [x, y, 1], radius } }, { drop });
        } catch (error) {
          expect(['region-empty', 'prepare-empty']).toContain((error as FettleError).code);
          return;
        }
        for (const p of prepared.keptPoints) {
          const [a, b, c] = place(scan, p);
          expect(Math.hypot(a - x, b - y, c - 1) <= radius).toBe(!drop);
        }
        expectHonest(prepared);
        expectBack(prepared);
      },
    ),
    { numRuns: 40, seed: 4 },
  );
});

test('a known length is a check unless it is to be applied', () => {
  const between = [
    [0, 0, 0],
    [3, 4, 0],
  ] as const;
  const check = scaleByKnownLength(scan, { between, is: 127 });
  expect(check).toMatchObject({ factor: 25.4, measured: 5, applied: false });
  expect(check.scan).toBe(scan);
  const applied = scaleByKnownLength(scan, { between, is: 127, apply: true });
  expect(place(applied.scan, 21 * 4 + 3)).toEqual([3 * 25.4, 4 * 25.4, 0]);
  expect(applied.scan.triangles).toBe(scan.triangles);
  expect(code(() => scaleByKnownLength(scan, { between: [between[0], between[0]], is: 1 }))).toBe('known-length');
  expect(code(() => scaleByKnownLength(scan, { between, is: 0 }))).toBe('known-length');
});
