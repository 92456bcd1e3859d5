import {
  cutMesh,
  type FettleError,
  fitCircle,
  fitStretch,
  frameOf,
  type Section,
  seededRandom,
  stretchPoints,
  transformScan,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { box, cloudOf, cylinder, type meshOf, placement, put, revolve, sphere, torus } from './section-solids.js';

const level = (z: number) => ({ point: [0, 0, z] as Vec3, normal: [0, 0, 1] as Vec3 });
const messageOf = (work: () => unknown): string => {
  try {
    work();
    return 'no error';
  } catch (error) {
    return `${(error as FettleError).code}: ${(error as FettleError).message}`;
  }
};
const bend = (section: Section, x: number, y: number): Vec3 =>
  section.origin.map((o, k) => o + x * section.x[k] + y * section.y[k]) as unknown as Vec3;

describe('a circle through a stretch of a section', () => {
  // Points on the circle, so that the fit is exact: a cylinder's edges are crossed on it.
  const m = placement(0.3, 0.8, -1.2, [400, -300, 200]);
  const mesh = transformScan(cylinder(12, 40, 180), m);
  const section = cutMesh(mesh, { point: put(m, [0, 0, 17]), normal: put(m, [0, 0, 1], 0) });

  it('lies in space and in the plane of the section', () => {
    const fit = fitStretch(section, { from: put(m, [12, 0, 17]), to: put(m, [0, 12, 17]) }, 'circle');
    const center = put(m, [0, 0, 17]);
    for (let k = 0; k < 3; k++) {
      expect(fit.feature.center[k]).toBeCloseTo(center[k], 2);
      expect(fit.feature.normal[k]).toBeCloseTo(section.plane.normal[k], 12);
    }
    expect(fit.feature.radius).toBeCloseTo(12, 2);
    // A quarter of 180 edges and of the 180 diagonals between them.
    expect(fit.count).toBeGreaterThanOrEqual(90);
    expect(fit.count).toBeLessThanOrEqual(92);
    expect(fit.points).toHaveLength(3 * fit.count);
    expect(fit.warnings.map((w) => w.code)).not.toContain('stretch-pick-far');
    expect(fit.uncertainty.reach).toBeGreaterThan(0);
  });

  it('takes the shorter way around, or the longer if asked', () => {
    const picks = { from: put(m, [12, 0, 17]), to: put(m, [0, -12, 17]) };
    const short = stretchPoints(section, picks).points.length / 3;
    const long = stretchPoints(section, { ...picks, long: true }).points.length / 3;
    expect(Math.abs(short - 91)).toBeLessThanOrEqual(1);
    expect(Math.abs(long - 271)).toBeLessThanOrEqual(1);
    const swapped = stretchPoints(section, { from: picks.to, to: picks.from }).points.length / 3;
    expect(swapped).toBe(short);
  });

  it('warns of picks far off the section', () => {
    const fit = fitStretch(section, { from: put(m, [20, 0, 17]), to: put(m, [0, 12, 17]) }, 'circle');
    const warning = fit.warnings.find((w) => w.code === 'stretch-pick-far');
    expect(warning?.message).toMatch(/^A pick lies 8(\.\d+)? mm from the section/);
  });

  it('of a section with several polylines, the picks choose the nearest together', () => {
    const ring = cutMesh(torus(20, 6, 120), level(0));
    const inner = fitStretch(ring, { from: [14.3, 0, 0], to: [-7, 12, 0] }, 'circle');
    expect(inner.feature.radius).toBeCloseTo(14, 1);
    const outer = fitStretch(ring, { from: [26.4, 0, 0], to: [-13, 22, 0] }, 'circle');
    expect(outer.feature.radius).toBeCloseTo(26, 1);
    const told = ring.polylines.findIndex((p) => Math.hypot(p.flat[0], p.flat[1]) < 20);
    const named = fitStretch(ring, { from: [26, 0, 0], to: [-13, 22, 0], polyline: told }, 'circle');
    expect(named.feature.radius).toBeCloseTo(14, 1);
  });

  it('inside a box or circle of the flat axes, and inside a box of a frame', () => {
    const flat = fitStretch(section, { box: { min: [-99, 0], max: [99, 99] } }, 'circle');
    expect(flat.feature.radius).toBeCloseTo(12, 2);
    for (let i = 0; i < flat.count; i++) {
      const d = [0, 1, 2].map((k) => flat.points[3 * i + k] - section.origin[k]);
      expect(d.reduce((sum, c, k) => sum + c * section.y[k], 0)).toBeGreaterThanOrEqual(0);
    }
    const ring = cutMesh(torus(20, 6, 120), level(0));
    const one = fitStretch(ring, { within: { center: [0, 0], radius: 20 } }, 'circle');
    expect(one.feature.radius).toBeCloseTo(14, 1);
    const frame = frameOf([26, 0, 0], [0, 1, 0], [0, 0, 1]);
    // In the frame z is the scan's x, counted from the rim.
    const rim = stretchPoints(ring, { box: { min: [-9, -9, -1], max: [9, 9, 1] }, frame }).points;
    expect(rim.length).toBeGreaterThan(6);
    for (let i = 0; i < rim.length; i += 3) expect(rim[i]).toBeGreaterThanOrEqual(25);
    const ball = stretchPoints(ring, { within: { center: [26, 0, 0], radius: 3 } }).points;
    for (let i = 0; i < ball.length; i += 3) expect(Math.hypot(ball[i] - 26, ball[i + 1])).toBeLessThanOrEqual(3);
  });

  it('by even places weighs fine and coarse triangles alike', () => {
    // An arc of exact points from 0.2 to 1.4 radians, its first half finely cut and the other coarsely.
    const angles = [
      ...Array.from({ length: 60 }, (_, i) => 0.2 + i / 100),
      ...Array.from({ length: 7 }, (_, i) => 0.8 + i / 10),
    ];
    const at = (a: number): Vec3 => [20 * Math.cos(a), 0, 20 * Math.sin(a)];
    const wall = revolve(
      angles.map((a): [number, number] => [at(a)[0], at(a)[2]]),
      90,
    );
    const cut = cutMesh(wall, { point: [0, 0, 0], normal: [0, 1, 0] });
    const own = fitStretch(cut, { from: at(0.2), to: at(1.4) }, 'circle');
    const even = fitStretch(cut, { from: at(0.2), to: at(1.4) }, 'circle', { every: 0.3 });
    expect(own.feature.radius).toBeCloseTo(20, 9);
    // Places between the points are on chords of 0.1 radians, up to 0.025 mm inside.
    expect(Math.abs(even.feature.radius - 20)).toBeLessThan(0.1);
    expect(even.count).toBe(81);
    const fine = (fit: typeof own) =>
      Array.from({ length: fit.count }, (_, i) => i).filter((i) => fit.points[3 * i] > at(0.8)[0]).length / fit.count;
    expect(fine(own)).toBeGreaterThan(0.85);
    expect(Math.abs(fine(even) - 0.5)).toBeLessThan(0.02);
  });

  it('passes what it knows on to the fit: a known radius, rejection', () => {
    const picks = { from: put(m, [12, 0, 17]), to: put(m, [0, 12, 17]) };
    const known = fitStretch(section, picks, 'circle', { known: { radius: 12.5 } });
    expect(known.feature.radius).toBe(12.5);
    const random = seededRandom(3);
    const dented = {
      ...mesh,
      positions: mesh.positions.map((c, i) => (i % 33 < 3 ? c + 1 : c + 0.001 * random.normal())),
    };
    const cut = cutMesh(dented, section.plane);
    const fit = fitStretch(cut, picks, 'circle', { reject: 3 });
    expect(fit.rejected.length).toBeGreaterThan(0);
    expect(fit.feature.radius).toBeCloseTo(12, 1);
  });
});

describe('a line through a stretch of a section', () => {
  it('along a face of a box, whose section has few points', () => {
    const section = cutMesh(box(30, 40, 50), level(20));
    const fit = fitStretch(section, { from: [5, 0, 20], to: [14, 0, 20] }, 'line');
    expect(Math.abs(fit.feature.direction[0])).toBeCloseTo(1, 12);
    expect(fit.feature.point[1]).toBeCloseTo(0, 12);
    expect(fit.feature.point[2]).toBeCloseTo(20, 12);
    // Only the diagonal of the face is crossed between the picks: the ends of the stretch are taken too.
    expect(Array.from(fit.points)).toEqual([5, 0, 20, 12, 0, 20, 14, 0, 20]);
  });

  it('on an open polyline there is one way only', () => {
    const tube = revolve(
      [
        [10, 0],
        [10, 30],
      ],
      40,
    );
    const half = { ...tube, triangles: tube.triangles.filter((_, i) => Math.floor(i / 6) < 20) };
    const section = cutMesh(half, level(12));
    expect(section.polylines.map((p) => p.closed)).toEqual([false]);
    const picks = { from: [10, 0, 12] as Vec3, to: [-10, 0, 12] as Vec3 };
    const all = stretchPoints(section, picks).points;
    expect(all).toHaveLength(section.polylines[0].points.length);
    expect(stretchPoints(section, { ...picks, long: true }).points).toEqual(all);
  });

  it('even places are evenly spaced and keep both ends', () => {
    const section = cutMesh(box(30, 40, 50), level(20));
    const { points } = stretchPoints(section, { from: [30, 5, 20], to: [20, 40, 20] }, 5);
    // 35 mm along one face and 10 mm along the next.
    expect(points).toHaveLength(30);
    expect(Array.from(points.subarray(0, 3))).toEqual([30, 5, 20]);
    expect(Array.from(points.subarray(27))).toEqual([20, 40, 20]);
  });
});

describe('sections of clouds', () => {
  const cloud = cloudOf(sphere(20, 160)) as ReturnType<typeof meshOf>;

  it('are the points in a slab, with their projections', () => {
    const plane = { point: [0, 0, 3] as Vec3, normal: [0, 0, 2] as Vec3 };
    const section = cutMesh(cloud, plane, { halfThickness: 0.5 });
    const expected = Array.from({ length: cloud.positions.length / 3 }, (_, p) => p).filter(
      (p) => Math.abs(cloud.positions[3 * p + 2] - 3) <= 0.5,
    );
    expect(Array.from(section.select!)).toEqual(expected);
    expect(section.halfThickness).toBe(0.5);
    for (const [i, p] of expected.entries()) {
      const onPlane = bend(section, section.flat![2 * i], section.flat![2 * i + 1]);
      for (let k = 0; k < 3; k++) {
        expect(section.points![3 * i + k]).toBeCloseTo(k === 2 ? 3 : cloud.positions[3 * p + k], 13);
        expect(onPlane[k]).toBeCloseTo(section.points![3 * i + k], 12);
      }
    }
  });

  it('are as thick as the points are apart, if not told, and say so', () => {
    const grid = cloudOf({
      ...cloud,
      positions: Float64Array.from(
        { length: 3000 },
        (_, i) => 0.5 * (i % 3 === 0 ? (i / 3) % 10 : i % 3 === 1 ? Math.floor(i / 30) % 10 : Math.floor(i / 300)),
      ),
    });
    const section = cutMesh(grid, level(2.1));
    expect(section.halfThickness).toBe(0.5);
    expect(section.select).toHaveLength(200);
  });

  it('only of points selected', () => {
    const select = Uint32Array.from({ length: 6000 }, (_, i) => 2 * i);
    const section = cutMesh({ ...cloud, select }, level(3), { halfThickness: 1 });
    expect(section.select!.every((p) => p % 2 === 0)).toBe(true);
  });

  it('can be fitted inside a circle, by their points', () => {
    const section = cutMesh(cloud, level(0), { halfThickness: 0.2 });
    const fit = fitStretch(section, { within: { center: [0, 0], radius: 30 } }, 'circle');
    expect(fit.feature.radius).toBeCloseTo(20, 2);
    const direct = fitCircle({ positions: section.points! }, { plane: section.plane });
    expect(fit.feature).toEqual(direct.feature);
  });

  it('go from one point to another along their curves, if they have any', () => {
    const section = cutMesh(cloud, level(0), { halfThickness: 0.5 });
    const { points } = stretchPoints(section, { from: [20, 0, 0], to: [0, 20, 0] });
    expect(points.length / 3).toBeGreaterThan(30);
    for (let i = 0; i < points.length; i += 3) {
      expect(Math.hypot(points[i], points[i + 1])).toBeCloseTo(20, 1);
      expect(Math.min(points[i], points[i + 1])).toBeGreaterThan(-1);
    }
    const few = cutMesh({ ...cloud, positions: cloud.positions.slice(0, 6) }, level(-20), { halfThickness: 5 });
    expect(few.polylines).toEqual([]);
    expect(messageOf(() => stretchPoints(few, { from: [20, 0, 0], to: [0, 20, 0] }))).toContain('stretch-cloud: ');
  });

  it('miss, or are refused a thickness of nothing', () => {
    expect(messageOf(() => cutMesh(cloud, level(25), { halfThickness: 1 }))).toBe(
      'section-misses: turned: the section plane misses by 5 mm: all of the scan lies on the side its normal points away from. ' +
        'Move it that way.',
    );
    expect(messageOf(() => cutMesh(cloud, level(0), { halfThickness: 0 }))).toContain('section-thickness: ');
  });
});

describe('a stretch that cannot be had', () => {
  const section = cutMesh(box(30, 40, 50), level(20));

  it.each([
    [
      () => stretchPoints(section, { box: { min: [100, 100], max: [101, 101] } }),
      'stretch-empty: The box holds no point of the section: the nearest is 92.2 mm outside.',
    ],
    [
      () => stretchPoints(section, { within: { center: [15, 20], radius: 10 } }),
      'stretch-empty: The circle holds no point',
    ],
    [
      () => stretchPoints(section, { from: [5, 0, 20], to: [5, -3, 20] }),
      'stretch-empty: Both picks are nearest to the same place',
    ],
    [
      () => stretchPoints(section, { from: [5, 0, 20], to: [9, 0, 20], polyline: 1 }),
      'stretch-polyline: The section has polylines 0 to 0, not 1.',
    ],
    [() => stretchPoints(section, { from: [5, 0, 20], to: [9, 0, 20] }, 0), 'stretch-every: '],
  ])('%s', (work, message) => {
    expect(messageOf(work)).toContain(message);
  });
});
