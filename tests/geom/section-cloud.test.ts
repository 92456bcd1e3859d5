import {
  createScan,
  cutMesh,
  polylineArea,
  polylineLength,
  type Scan,
  type Section,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, it } from 'vitest';

const spacing = 0.2;
const noise = 0.02;
const random = seededRandom(4);

/**
 * Points of a wall over a curve, `at` from 0 to 1, from `half` mm under the cutting plane to as much above: in rows and columns,
 * each point up to 0.4 of the spacing out of place, and scattered.
 */
function wall(length: number, at: (t: number) => readonly [number, number], half = 2): number[] {
  const [columns, rows] = [Math.round(length / spacing), Math.round((2 * half) / spacing)];
  const aside = () => 0.5 + 0.8 * (random.next() - 0.5);
  return Array.from({ length: columns * rows }, (_, i) => {
    const [x, y] = at(((i % columns) + aside()) / columns);
    const z = ((Math.floor(i / columns) + aside()) / rows - 0.5) * 2 * half;
    return [x + noise * random.normal(), y + noise * random.normal(), z];
  }).flat();
}

const ring =
  (radius: number, from = 0, to = 1) =>
  (t: number) => {
    const angle = 2 * Math.PI * (from + t * (to - from));
    return [radius * Math.cos(angle), radius * Math.sin(angle)] as const;
  };
const cut = (...walls: number[][]): Section =>
  cutMesh(createScan({ positions: Float64Array.from(walls.flat()) }), { point: [0, 0, 0], normal: [0, 0, 1] });
/** Farthest any place of the curves is from the true one. */
const worst = (section: Section, off: (x: number, y: number) => number) =>
  Math.max(
    ...section.polylines.flatMap(({ flat }) =>
      Array.from({ length: flat.length / 2 }, (_, i) => Math.abs(off(...flatAt(section, flat, i)))),
    ),
  );
/** Scan coordinates x, y of place i of the flat list. */
const flatAt = ({ origin, x, y }: Section, flat: Float64Array, i: number): [number, number] =>
  [0, 1].map((k) => origin[k]! + flat[2 * i]! * x[k]! + flat[2 * i + 1]! * y[k]!) as [number, number];

describe('the section of a cloud is curves', () => {
  it('a round wall gives a circle, closed, counterclockwise', () => {
    const section = cut(wall(20 * Math.PI, ring(10)));
    expect(section.polylines.map((p) => p.closed)).toEqual([true]);
    expect(worst(section, (x, y) => Math.hypot(x, y) - 10)).toBeLessThan(3 * noise);
    // The length of a circle and its area.
    expect(polylineLength(section.polylines[0]!) / (20 * Math.PI)).toBeCloseTo(1, 2);
    expect(polylineArea(section.polylines[0]!) / (100 * Math.PI)).toBeCloseTo(1, 3);
  });

  it('a tube gives two, the inner one clockwise', () => {
    const section = cut(wall(20 * Math.PI, ring(10)), wall(17 * Math.PI, ring(8.5)));
    expect(section.polylines.map((p) => p.closed)).toEqual([true, true]);
    const areas = section.polylines.map((p) => polylineArea(p) / Math.PI).sort((a, b) => a - b);
    expect(areas[0]! / -72.25).toBeCloseTo(1, 2);
    expect(areas[1]! / 100).toBeCloseTo(1, 2);
  });

  it('walls four spacings apart stay apart', () => {
    const straight = (y: number) => wall(20, (t) => [20 * t, y]);
    const section = cut(straight(0), straight(0.8));
    expect(section.polylines.map((p) => p.closed)).toEqual([false, false]);
    // Each end falls short by two spacings at most.
    for (const polyline of section.polylines) expect(Math.abs(polylineLength(polyline) - 20)).toBeLessThan(4 * spacing);
    expect(worst(section, (_, y) => Math.min(Math.abs(y), Math.abs(y - 0.8)))).toBeLessThan(3 * noise);
  });

  it('a part of a ring is open, from end to end', () => {
    const section = cut(wall(12 * Math.PI, ring(10, 0.1, 0.7)));
    expect(section.polylines.map((p) => p.closed)).toEqual([false]);
    expect(polylineLength(section.polylines[0]!) / (12 * Math.PI)).toBeCloseTo(1, 1);
    const ends = [0, section.polylines[0]!.flat.length / 2 - 1].map((i) =>
      flatAt(section, section.polylines[0]!.flat, i),
    );
    const true_ = [ring(10)(0.1), ring(10)(0.7)];
    for (const end of true_)
      expect(Math.min(...ends.map(([x, y]) => Math.hypot(x - end[0], y - end[1])))).toBeLessThan(2 * spacing);
  });

  it('a rectangle is closed, its corners rounded by no more than the spacing', () => {
    const side = (a: Vec3, b: Vec3) =>
      wall(Math.hypot(b[0] - a[0], b[1] - a[1]), (t) => [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
    const corners: Vec3[] = [
      [0, 0, 0],
      [12, 0, 0],
      [12, 7, 0],
      [0, 7, 0],
    ];
    const section = cut(...corners.map((c, i) => side(c, corners[(i + 1) % 4]!)));
    expect(section.polylines.map((p) => p.closed)).toEqual([true]);
    const off = (x: number, y: number) => Math.max(Math.abs(x - 6) - 6, Math.abs(y - 3.5) - 3.5);
    expect(worst(section, off)).toBeLessThan(spacing);
    expect(polylineArea(section.polylines[0]!) / 84).toBeCloseTo(1, 2);
    for (const [x, y] of corners) {
      const { flat } = section.polylines[0]!;
      const away = Array.from({ length: flat.length / 2 }, (_, i) => {
        const place = flatAt(section, flat, i);
        return Math.hypot(place[0] - x, place[1] - y);
      });
      expect(Math.min(...away)).toBeLessThan(1.5 * spacing);
    }
  });

  it('across a cylinder at a slant it is an ellipse', () => {
    // Semi-axes r and r / cos 30°.
    const scan = createScan({ positions: Float64Array.from(wall(20 * Math.PI, ring(10), 12)) });
    const section = cutMesh(scan, { point: [0, 0, 0], normal: [0.5, 0, Math.sqrt(3) / 2] });
    expect(section.polylines.map((p) => p.closed)).toEqual([true]);
    expect(Math.abs(polylineArea(section.polylines[0]!)) / ((100 * Math.PI * 2) / Math.sqrt(3))).toBeCloseTo(1, 2);
  });

  it('a face along the plane gives no curves inside it, and strays none', () => {
    const face = Array.from({ length: 10_000 }, () => [
      20 * random.next(),
      20 * random.next(),
      noise * random.normal(),
    ]).flat();
    const inside = cut(face).polylines.flatMap(({ points }) =>
      Array.from({ length: points.length / 3 }, (_, i) =>
        Math.min(points[3 * i]!, 20 - points[3 * i]!, points[3 * i + 1]!, 20 - points[3 * i + 1]!),
      ),
    );
    expect(Math.max(0, ...inside)).toBeLessThan(4 * spacing);
    const strays = Array.from({ length: 40 }, () => [40 + 60 * random.next(), 60 * random.next(), 0]).flat();
    const section = cut(wall(20 * Math.PI, ring(10)), strays);
    expect(section.polylines).toHaveLength(1);
  });
});

it('a scan without a name, as a script may make one, is called a scan in messages', () => {
  const scan = { positions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0), units: 'mm' } as Scan;
  expect(() => cutMesh(scan, { point: [0, 0, 5], normal: [0, 0, 1] }, { halfThickness: 1 })).toThrow(
    /^scan: the section plane misses/,
  );
  expect(() => cutMesh(scan, { point: [0, 0, 0], normal: [0, 0, 1] }, { halfThickness: -1 })).toThrow(
    /^scan: a section of points needs/,
  );
});
