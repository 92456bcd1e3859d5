import { readFileSync } from 'node:fs';
import {
  boxRegion,
  createScan,
  FettleError,
  fitPlane,
  frameOf,
  growRegion,
  growthFrom,
  indexRegion,
  regionIntersect,
  regionUnion,
  regionWithout,
  seededRandom,
  spatialIndex,
  sphereRegion,
  transformScan,
  type Vec3,
} from '@fettle/geom';
import { readScan } from '@fettle/io';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Casting, scanCasting } from './region-casting.js';
import {
  box,
  cloudOf,
  cylinder,
  flipped,
  placement,
  put,
  revolve,
  shuffled,
  sphere,
  together,
} from './section-solids.js';

const degrees = Math.PI / 180;

const messageOf = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return `${error.code}: ${error.message}`;
    throw error;
  }
  return 'no error';
};

const random = seededRandom(31);
const scattered = createScan({
  positions: Float64Array.from({ length: 6000 }, () => 100 * (random.next() - 0.5)),
  name: 'dust.xyz',
});
const at = (p: number): Vec3 => [0, 1, 2].map((k) => scattered.positions[3 * p + k]) as unknown as Vec3;
const all = Array.from({ length: 2000 }, (_, p) => p);

describe('by box and sphere', () => {
  const frame = frameOf([5, 6, 7], [0.6, 0.8, 0], [0, 0, 1]);

  it('a box holds the points between its corners, in scan axes or in a frame', () => {
    const [min, max]: Vec3[] = [
      [-20, -30, -10],
      [25, 10, 40],
    ];
    const inside = (p: Vec3) => p.every((c, k) => c >= min[k] && c <= max[k]);
    expect(Array.from(boxRegion(scattered, { min, max }))).toEqual(all.filter((p) => inside(at(p))));
    expect(Array.from(boxRegion(scattered, { min, max }, frame))).toEqual(
      all.filter((p) => inside(frame.toFrame(at(p)))),
    );
  });

  it('a sphere holds the points no farther than its radius', () => {
    const center: Vec3 = [10, -5, 3];
    const near = (from: Vec3, p: number) => Math.hypot(...at(p).map((c, k) => c - from[k])) <= 30;
    expect(Array.from(sphereRegion(scattered, { center, radius: 30 }))).toEqual(all.filter((p) => near(center, p)));
    const there = frame.toScan(center);
    expect(Array.from(sphereRegion(scattered, { center, radius: 30 }, frame))).toEqual(
      all.filter((p) => near(there, p)),
    );
  });

  it('borders count', () => {
    const mesh = box(3, 4, 5);
    expect(Array.from(boxRegion(mesh, { min: [0, 0, 0], max: [3, 4, 0] }))).toEqual([0, 1, 2, 3]);
    expect(Array.from(sphereRegion(mesh, { center: [0, 0, 0], radius: 5 }))).toEqual([0, 1, 2, 3, 4]);
  });

  it('only points selected are chosen from', () => {
    const mesh = { ...box(3, 4, 5), select: Uint32Array.of(7, 2, 0) };
    expect(Array.from(boxRegion(mesh, { min: [0, 0, 0], max: [3, 4, 0] }))).toEqual([0, 2]);
    expect(Array.from(sphereRegion(mesh, { center: [0, 0, 0], radius: 6 }))).toEqual([0, 2]);
  });

  it('an empty one says how far off the nearest point is', () => {
    const mesh = box(3, 4, 5);
    expect(messageOf(() => boxRegion(mesh, { min: [6, 8, 1], max: [9, 9, 2] }))).toBe(
      'region-empty: box: the box holds no point. The nearest is 5.099 mm outside, at (3, 4, 0) mm in scan axes. ' +
        'Move the box or make it larger.',
    );
    expect(messageOf(() => sphereRegion(mesh, { center: [0, 0, -4], radius: 1.5 }))).toBe(
      'region-empty: box: the sphere holds no point. The nearest is 2.5 mm outside, at (0, 0, 0) mm in scan axes. ' +
        'Move the sphere or make it larger.',
    );
    expect(messageOf(() => boxRegion({ ...mesh, select: new Uint32Array() }, { min: [0, 0, 0], max: [1, 1, 1] }))).toBe(
      'region-empty: box: the box holds no point: there is none to choose from.',
    );
  });

  it('one that cannot hold a point is refused', () => {
    expect(messageOf(() => boxRegion(scattered, { min: [1, 0, 0], max: [0, 9, 9] }))).toContain('region-box: ');
    expect(messageOf(() => boxRegion(scattered, { min: [NaN, 0, 0], max: [0, 9, 9] }))).toContain('region-box: ');
    expect(messageOf(() => sphereRegion(scattered, { center: [0, 0, 0], radius: 0 }))).toContain('region-sphere: ');
  });
});

describe('by number', () => {
  it('ascending, each once', () => {
    expect(Array.from(indexRegion(scattered, [7, 3, 7, 1999]))).toEqual([3, 7, 1999]);
  });

  it('numbers no point has are refused', () => {
    expect(messageOf(() => indexRegion(scattered, [3, 2000]))).toBe(
      'region-index-range: dust.xyz: there is no point 2,000. Points have the numbers 0 to 1,999.',
    );
    expect(messageOf(() => indexRegion(scattered, [0.5]))).toContain('region-index-range: ');
    expect(messageOf(() => indexRegion(scattered, []))).toContain('region-empty: ');
  });
});

describe('put together', () => {
  it('as sets are', () => {
    const region = fc.uint8Array({ maxLength: 40 }).map((a) => Uint32Array.from(a));
    const sorted = (set: Iterable<number>) => Array.from(new Set(set)).sort((a, b) => a - b);
    fc.assert(
      fc.property(region, region, region, (a, b, c) => {
        expect(Array.from(regionUnion(a, b, c))).toEqual(sorted([...a, ...b, ...c]));
        expect(Array.from(regionIntersect(a, b, c))).toEqual(sorted(a.filter((p) => b.includes(p) && c.includes(p))));
        expect(Array.from(regionWithout(a, b, c))).toEqual(sorted(a.filter((p) => !b.includes(p) && !c.includes(p))));
      }),
      { seed: 5 },
    );
    expect(regionUnion()).toHaveLength(0);
  });
});

describe('grown over a floor to its fillet', () => {
  const cases: readonly (Casting & { readonly step: number; readonly total: number })[] = [true, false].flatMap(
    (mesh) => [
      { mesh, spacing: 0.3, noise: 0, fillet: 3, seed: 1, step: 5, total: 12 },
      { mesh, spacing: 0.3, noise: 0.02, fillet: 3, seed: 2, step: 5, total: 12 },
      // Single triangles of this one stand some 15° off.
      { mesh, spacing: 0.3, noise: 0.075, fillet: 3, seed: 3, step: 5, total: 12 },
      { mesh, spacing: 0.3, noise: 0.075, fillet: 8, seed: 4, step: 4, total: 10 },
      { mesh, spacing: 0.6, noise: 0.15, fillet: 5, seed: 5, step: 6, total: 15 },
    ],
  );

  it.each(cases)('%j', ({ step, total, ...casting }) => {
    const { scan, past, isInside } = scanCasting(casting);
    const region = growRegion(scan, { seed: [-15, 15, 0.4], turnStep: step * degrees, turnTotal: total * degrees });
    const isReached = new Uint8Array(past.length);
    for (const p of region) isReached[p] = 1;
    // Every point of the floor, up to where the normals begin to feel the fillet.
    const near = 6 * casting.spacing;
    const missed = past.reduce((sum, a, p) => sum + (isInside[p] && a < -near && !isReached[p] ? 1 : 0), 0);
    expect(missed).toBe(0);
    // Into the fillet no farther than the surface turns by the limit, and as far again as normals reach that are averaged.
    const farthest = region.reduce((most, p) => Math.max(most, past[p]), -Infinity);
    expect(farthest).toBeLessThan(casting.fillet * total * degrees + near);
    // What was reached is a plane as good as the noise: the little of the fillet in it does not tilt it.
    const { feature } = fitPlane({ ...scan, select: region });
    expect(Math.abs(feature.normal[2])).toBeGreaterThan(Math.cos(0.25 * degrees));
  });

  it('a fillet that turns more with each point than the step allows stops growing, whatever the total', () => {
    // 0.3 mm on a radius of 2 mm: 8.6° from point to point.
    for (const mesh of [true, false]) {
      const { scan, past } = scanCasting({ mesh, spacing: 0.3, noise: 0.05, fillet: 2, seed: 6 });
      const tight = growRegion(scan, { seed: [-15, 15, 0], turnStep: 4 * degrees, turnTotal: Math.PI });
      expect(tight.every((p) => past[p] < Math.PI)).toBe(true);
      const loose = growRegion(scan, { seed: [-15, 15, 0], turnStep: 14 * degrees, turnTotal: Math.PI });
      expect(loose.length).toBeGreaterThan(0.97 * past.length);
    }
  });

  it('a sharp edge stops it short of the edge, and nothing beyond is reached', () => {
    for (const mesh of [true, false]) {
      const { scan, past, isInside } = scanCasting({ mesh, spacing: 0.3, noise: 0.05, fillet: 1e-6, seed: 7 });
      const region = growRegion(scan, { seed: [-15, 15, 0], turnStep: 5 * degrees, turnTotal: 15 * degrees });
      expect(Math.max(...Array.from(region, (p) => past[p]))).toBeLessThan(0.3);
      const isReached = new Set(region);
      expect(past.filter((a, p) => isInside[p] && a < -2 && !isReached.has(p))).toHaveLength(0);
    }
  });

  it('strays over the face of a cloud are passed over', () => {
    const { scan, past } = scanCasting({ mesh: false, spacing: 0.3, noise: 0.02, fillet: 3, seed: 8 });
    const strays: number[] = [];
    const positions = scan.positions.slice();
    for (let p = 0; p < past.length; p += 97) {
      if (past[p] > -1) continue;
      positions[3 * p + 2] += 0.5;
      strays.push(p);
    }
    const region = growRegion(createScan({ positions }), { seed: [-15, 15, 0], turnStep: 0.1, turnTotal: 0.2 });
    expect(strays.length).toBeGreaterThan(50);
    expect(regionIntersect(region, Uint32Array.from(strays))).toHaveLength(0);
    expect(region.length).toBeGreaterThan(0.9 * past.filter((a) => a < 0).length);
  });

  it('the order and facing of triangles and the place of the scan change nothing', () => {
    const { scan } = scanCasting({ mesh: true, spacing: 0.4, noise: 0.03, fillet: 3, seed: 9 });
    const mesh = { ...scan, triangles: scan.triangles! };
    const limits = { turnStep: 0.1, turnTotal: 0.2 };
    const plain = growRegion(scan, { seed: [-15, 15, 0], ...limits });
    const turned = growRegion(
      flipped(shuffled(mesh, 2), (t) => t % 7 === 0),
      { seed: [-15, 15, 0], ...limits },
    );
    const m = placement(1, 2, 3, [5000, 6000, -7000]);
    const moved = growRegion(transformScan(scan, m), { seed: put(m, [-15, 15, 0]), ...limits });
    // The way a point is reached decides at the rim; inside it is all one.
    for (const other of [turned, moved]) {
      expect(regionWithout(plain, other).length).toBeLessThan(0.01 * plain.length);
      expect(regionWithout(other, plain).length).toBeLessThan(0.01 * plain.length);
    }
  });
});

describe('grown over other shapes', () => {
  it('a face of a box whose triangles are as large as the face', () => {
    const grown = growRegion(box(30, 40, 50), { seed: [20, 10, 50], turnStep: 0.2, turnTotal: 0.5 });
    expect(Array.from(grown)).toEqual([4, 5, 6, 7]);
  });

  it('a cylinder of facets all around, but not its ends', () => {
    const n = 64;
    const mesh = cylinder(10, 30, n);
    // From facet to facet it turns 5.6°.
    const around = growRegion(mesh, { seed: [10, 0, 15], turnStep: 6 * degrees, turnTotal: Math.PI });
    expect(around).toHaveLength(2 * n);
    const facet = growRegion(mesh, { seed: [9.99, 0.5, 15], turnStep: 5 * degrees, turnTotal: Math.PI });
    expect(facet).toHaveLength(4);
    const part = growRegion(mesh, { seed: [9.99, 0.5, 15], turnStep: 6 * degrees, turnTotal: 30 * degrees });
    // Five facets to either side: 28° of turn.
    expect(part).toHaveLength(2 * 12);
  });

  it('a noisy bore all around, with its ends left out', () => {
    const [radius, noise] = [6, 0.05];
    const noisy = seededRandom(41);
    const tube = revolve(
      Array.from({ length: 121 }, (_, i): [number, number] => {
        // A flange of 6 mm, the bore of 12 mm, a flange of 6 mm.
        const s = 0.2 * i;
        return s < 6 ? [radius + 6 - s, 0] : s < 18 ? [radius, s - 6] : [radius + s - 18, 12];
      }),
      188,
    );
    const positions = tube.positions.map((c) => c + noise * noisy.normal());
    for (const scan of [{ ...tube, positions }, cloudOf({ ...tube, positions })]) {
      const region = growRegion(scan, { seed: [radius, 0, 6], turnStep: 6 * degrees, turnTotal: Math.PI });
      const radial = (p: number) => Math.hypot(positions[3 * p], positions[3 * p + 1]);
      const along = (p: number) => positions[3 * p + 2];
      const inBore = Array.from({ length: positions.length / 3 }, (_, p) => p).filter(
        (p) => along(p) > 1.2 && along(p) < 10.8 && radial(p) < radius + 0.5,
      );
      expect(regionWithout(Uint32Array.from(inBore), region)).toHaveLength(0);
      expect(region.every((p) => radial(p) < radius + 0.6)).toBe(true);
    }
  });

  it('a ball stops at a cap of the total turn', () => {
    const ball = sphere(20, 240);
    for (const scan of [ball, cloudOf(ball)]) {
      const region = growRegion(scan, { seed: [20, 0, 0], turnStep: 5 * degrees, turnTotal: 40 * degrees });
      const turns = Array.from(region, (p) => Math.acos(ball.positions[3 * p] / 20) / degrees);
      expect(Math.max(...turns)).toBeGreaterThan(37);
      expect(Math.max(...turns)).toBeLessThan(43);
    }
  });

  it('what does not hang together is not reached', () => {
    const apart = transformScan(box(30, 40, 50), placement(0, 0, 0, [31, 0, 0]));
    const both = together(box(30, 40, 50), apart as ReturnType<typeof box>);
    expect(growRegion(both, { seed: [20, 10, 50], turnStep: 0.2, turnTotal: 0.5 })).toHaveLength(4);
    const strip = (gap: number) =>
      createScan({
        positions: Array.from({ length: 800 }, (_, i) => [
          (i % 40) + (i % 40 < 20 ? 0 : gap),
          Math.floor(i / 40),
          0,
        ]).flat(),
      });
    const limits = { seed: [5, 5, 0] as Vec3, turnStep: 0.2, turnTotal: 0.5 };
    expect(growRegion(strip(3), limits)).toHaveLength(400);
    expect(growRegion(strip(1), limits)).toHaveLength(800);
    expect(growRegion(strip(3), { ...limits, maxGap: 4.5 })).toHaveLength(800);
  });

  it('a seed off the scan is refused with its distance', () => {
    expect(
      messageOf(() => growRegion(cloudOf(sphere(10, 60)), { seed: [0, 0, 90], turnStep: 0.1, turnTotal: 1 })),
    ).toContain('region-empty: turned: the seed is 80 mm from the scan; a seed must lie on it, or ');
    expect(messageOf(() => growRegion(sphere(10, 60), { seed: [0, 0, NaN], turnStep: 0.1, turnTotal: 1 }))).toContain(
      'region-empty: ',
    );
    expect(messageOf(() => growRegion(sphere(10, 60), { seed: [0, 0, 10], turnStep: 0, turnTotal: 1 }))).toContain(
      'region-turn: ',
    );
  });
});

it('grows over the table of a real scan, from a seed picked on it', async () => {
  const file = readFileSync(new URL('../fixtures/table-mug.ply', import.meta.url));
  const scan = await readScan(file, { name: 'table-mug.ply', units: 'mm' });
  const seed: Vec3 = [0, 150, 740];
  const region = growRegion(scan, { seed, turnStep: 6 * degrees, turnTotal: 20 * degrees });
  const { feature } = fitPlane({ ...scan, select: region });
  // Plane of the table by NumPy on the same file: tests/fixtures/README.md.
  const normal: Vec3 = [-0.016186, 0.837701, 0.545889];
  const along = Math.abs(feature.normal.reduce((sum, c, k) => sum + c * normal[k], 0));
  const offset = Math.abs(feature.point.reduce((sum, c, k) => sum + c * feature.normal[k], 0));
  expect(Math.acos(Math.min(1, along)) / degrees).toBeLessThan(0.05);
  expect(Math.abs(offset - 528.743)).toBeLessThan(0.5);
  expect(region.length).toBeGreaterThan(90_000);
});

it('grows in parts, each within the next, to what it grows to at once; another growth between changes nothing', async () => {
  const file = readFileSync(new URL('../fixtures/table-mug.ply', import.meta.url));
  const mesh = await readScan(file, { name: 'table-mug.ply', units: 'mm' });
  const { triangles: _, ...cloud } = mesh;
  const limits = { turnStep: 6 * degrees, turnTotal: 20 * degrees };
  for (const scan of [mesh, cloud]) {
    const { element } = spatialIndex(scan).nearest([0, 150, 740])!;
    const whole = growRegion(scan, { seed: [0, 150, 740], ...limits });
    const growth = growthFrom(scan, element, limits);
    expect(growth.go(2000)).toBe(false);
    const first = growth.points();
    growthFrom(scan, 0, limits).go(500);
    expect(growth.go(2000)).toBe(false);
    const second = growth.points();
    while (!growth.go(5000));
    expect(growth.points()).toEqual(whole);
    const isIn = (some: Uint32Array, more: Uint32Array) => regionIntersect(some, more).length === some.length;
    expect([first.length > 100, second.length > first.length]).toEqual([true, true]);
    expect([isIn(first, second), isIn(second, whole)]).toEqual([true, true]);
  }
});

it.each([
  ['(NaN, 0, 0)', [Number.NaN, 0, 0]],
  ['(1, 2)', [1, 2]],
  ['undefined', undefined],
])('a seed %s is no place', (text, seed) => {
  const scan = createScan({ positions: [0, 0, 0, 1, 0, 0, 0, 1, 0], triangles: [0, 1, 2], name: 'foot.ply' });
  expect(() => growRegion(scan, { seed: seed as never, turnStep: 1, turnTotal: 1 })).toThrow(
    `foot.ply: the seed ${text} is no place. Give three numbers, in scan axes.`,
  );
});
