import { cutMesh, FettleError, type Section, sectionArea, sectionLength, transformScan, type Vec3 } from '@fettle/geom';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  box,
  cylinder,
  flipped,
  meshOf,
  octahedron,
  placement,
  put,
  revolve,
  shuffled,
  sphere,
  together,
  torus,
  unwelded,
  without,
} from './section-solids.js';

const level = (z: number) => ({ point: [0, 0, z] as Vec3, normal: [0, 0, 1] as Vec3 });
const shape = (section: Section) =>
  section.polylines.map((p) => `${p.closed ? 'closed' : 'open'} ${p.points.length / 3}`).sort();
const codeOf = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return `${error.code}: ${error.message}`;
    throw error;
  }
  return 'no error';
};

describe('analytic outlines', () => {
  it('a cylinder of n faces cut square is the regular n-gon', () => {
    const n = 48;
    const section = cutMesh(cylinder(5, 20, n), level(7.3));
    expect(section.polylines).toHaveLength(1);
    expect(section.polylines[0].closed).toBe(true);
    // Area and perimeter of a regular n-gon inscribed in a circle.
    expect(sectionArea(section)).toBeCloseTo((n / 2) * 25 * Math.sin((2 * Math.PI) / n), 11);
    expect(sectionLength(section)).toBeCloseTo(2 * n * 5 * Math.sin(Math.PI / n), 11);
  });

  it('a prism cut at an angle is its base stretched by 1 / cos', () => {
    const n = 60;
    const tilt = 0.7;
    const section = cutMesh(cylinder(5, 40, n), {
      point: [0, 0, 20],
      normal: [Math.sin(tilt) * 3, 0, Math.cos(tilt) * 3],
    });
    expect(sectionArea(section)).toBeCloseTo(((n / 2) * 25 * Math.sin((2 * Math.PI) / n)) / Math.cos(tilt), 10);
  });

  it('a sphere cut anywhere is a circle, to the chord error', () => {
    const radius = 30;
    const steps = 128;
    const chordError = radius * (1 - Math.cos(Math.PI / steps) ** 2);
    const mesh = sphere(radius, steps);
    for (const normal of [
      [0, 0, 1],
      [1, 2, 2],
      [-3, 0.1, 1],
    ] as Vec3[])
      for (const height of [0.01, 11, 25]) {
        const length = Math.hypot(...normal);
        const section = cutMesh(mesh, { point: normal.map((c) => (c * height) / length) as unknown as Vec3, normal });
        expect(section.polylines.map((p) => p.closed)).toEqual([true]);
        const outer = radius ** 2 - height ** 2;
        const inner = (radius - chordError) ** 2 - height ** 2;
        expect(sectionArea(section)).toBeLessThanOrEqual(Math.PI * outer);
        expect(sectionArea(section)).toBeGreaterThanOrEqual(Math.PI * inner);
        expect(sectionLength(section)).toBeLessThanOrEqual(2 * Math.PI * Math.sqrt(outer));
        expect(sectionLength(section)).toBeGreaterThanOrEqual(2 * Math.PI * Math.sqrt(inner));
      }
  });

  it('a torus gives two circles through its axis, a ring across it, and the circles of Villarceau at the angle between', () => {
    const [major, minor] = [20, 6];
    const mesh = torus(major, minor, 240);
    const along = cutMesh(mesh, { point: [0, 0, 0], normal: [0.3, 1, 0] });
    expect(along.polylines.map((p) => p.closed)).toEqual([true, true]);
    expect(sectionArea(along) / (2 * Math.PI * minor ** 2)).toBeCloseTo(1, 3);
    const across = cutMesh(mesh, level(1.5));
    expect(across.polylines.map((p) => p.closed)).toEqual([true, true]);
    // π (R + w)² − π (R − w)², w² = r² − z²
    expect(sectionArea(across) / (4 * Math.PI * major * Math.sqrt(minor ** 2 - 1.5 ** 2))).toBeCloseTo(1, 3);
    // The plane that touches the torus twice cuts it in two circles of the major radius (Villarceau, 1848).
    const tilt = Math.asin(minor / major);
    const twice = cutMesh(mesh, { point: [0, 0, 0], normal: [Math.sin(tilt), 0, Math.cos(tilt)] });
    // Where they cross the surface runs along the plane, and facets move the outline by the root of the chord error.
    expect(Math.abs(sectionLength(twice) / (4 * Math.PI * major) - 1)).toBeLessThan(0.002);
  });

  it('a cone cut at a slant is an ellipse', () => {
    const slope = 0.5; // radius over height
    const [height, rise, tall] = [40, 0.6, 100];
    const mesh = revolve(
      [
        [0, -tall],
        [slope * tall, -tall],
        [0, 0],
      ],
      720,
    );
    const section = cutMesh(mesh, { point: [0, 0, -height], normal: [-rise, 0, 1] });
    // x² + y² = s² (h − m x)², seen from above: semi-axes s h / (1 − s² m²) and s h / √(1 − s² m²).
    const share = 1 - (slope * rise) ** 2;
    const area = ((Math.PI * (slope * height) ** 2) / share ** 1.5) * Math.hypot(1, rise);
    expect(section.polylines.map((p) => p.closed)).toEqual([true]);
    expect(sectionArea(section) / area).toBeCloseTo(1, 4);
  });

  it('holes count off: a tube is a ring', () => {
    const n = 90;
    const tube = revolve(
      [
        [4, 0],
        [10, 0],
        [10, 30],
        [4, 30],
      ],
      n,
      true,
    );
    const section = cutMesh(tube, level(12));
    const areas = (n / 2) * Math.sin((2 * Math.PI) / n);
    expect(section.polylines).toHaveLength(2);
    expect(sectionArea(section)).toBeCloseTo(areas * (100 - 16), 9);
  });
});

describe('what lies in the plane', () => {
  const square = ['closed 4'];

  it('a face gives its outline once, from whichever side the solid hangs', () => {
    for (const z of [0, 10])
      for (const up of [1, -1]) {
        const section = cutMesh(box(3, 4, 10), { point: [1, 1, z], normal: [0, 0, up] });
        expect(shape(section)).toEqual(square);
        expect(Math.abs(sectionArea(section))).toBeCloseTo(12, 12);
        expect(sectionLength(section)).toBeCloseTo(14, 12);
      }
  });

  it('of two boxes, one hanging under the plane and one standing on it, both are cut', () => {
    const standing = transformScan(box(3, 4, 10), placement(0, 0, 0, [20, 0, 10]));
    const section = cutMesh(together(box(3, 4, 10), standing as ReturnType<typeof box>), level(10));
    expect(shape(section)).toEqual([...square, ...square]);
    expect(sectionArea(section)).toBeCloseTo(24, 12);
  });

  it('stays so when the box is turned and ten meters away, where the face is flat only to rounding', () => {
    const m = placement(0.7, 1.1, -2.3, [10_000, -4_000, 7_000]);
    const turned = transformScan(box(30, 40, 100), m);
    const section = cutMesh(turned, { point: put(m, [3, 5, 100]), normal: put(m, [0, 0, 1], 0) });
    expect(shape(section)).toEqual(square);
    expect(sectionArea(section)).toBeCloseTo(1200, 6);
  });

  it('an octahedron through its equator is a square through four points', () => {
    const section = cutMesh(octahedron(), level(0));
    expect(shape(section)).toEqual(square);
    expect(sectionArea(section)).toBeCloseTo(2, 14);
    expect(sectionLength(section)).toBeCloseTo(4 * Math.SQRT2, 14);
  });

  it('through two opposite edges of a box', () => {
    const section = cutMesh(box(1, 1, 1), { point: [0, 0, 0], normal: [1, -1, 0] });
    expect(sectionArea(section)).toBeCloseTo(Math.SQRT2, 14);
    expect(sectionLength(section)).toBeCloseTo(2 + 2 * Math.SQRT2, 14);
    expect(section.polylines.map((p) => p.closed)).toEqual([true]);
  });

  it('an edge that touches is a line, once', () => {
    const section = cutMesh(box(1, 1, 5), { point: [0, 0, 0], normal: [1, 1, 0] });
    expect(shape(section)).toEqual(['open 2']);
    expect(sectionLength(section)).toBe(5);
  });

  it('a corner that touches is nothing', () => {
    expect(codeOf(() => cutMesh(box(1, 1, 1), { point: [0, 0, 0], normal: [1, 1, 1] }))).toBe(
      'section-misses: box: the section plane only touches the scan. Move it into the scan.',
    );
  });

  it('two tips that meet in a saddle point of the plane are two outlines', () => {
    // Two pyramids lying on their sides, tip to tip.
    const base: Vec3[] = [
      [2, -1, -1],
      [2, 1, -1],
      [2, 1, 1],
      [2, -1, 1],
    ];
    const points: Vec3[] = [[0, 0, 0], ...base, ...base.map(([x, y, z]): Vec3 => [-x, y, z])];
    const one = [
      [0, 2, 1],
      [0, 3, 2],
      [0, 4, 3],
      [0, 1, 4],
      [1, 2, 3],
      [1, 3, 4],
    ];
    const other = one.map(([a, b, c]) => [a, c, b].map((p) => (p === 0 ? 0 : p + 4)));
    const section = cutMesh(meshOf(points, [...one, ...other]), level(0));
    expect(section.polylines.map((p) => p.closed)).toEqual([true, true]);
    expect(sectionArea(section)).toBeCloseTo(4, 13);
  });

  it('the border of an open sheet in the plane belongs to the section', () => {
    const lid = without(box(3, 4, 10), (t) => t !== 2 && t !== 3);
    const section = cutMesh(lid, level(10));
    expect(shape(section)).toEqual(square);
    expect(sectionArea(section)).toBeCloseTo(12, 13);
  });

  it('an open box standing on its rim gives the rim', () => {
    const open = without(box(3, 4, 10), (t) => t < 2);
    expect(shape(cutMesh(open, level(0)))).toEqual(square);
  });
});

describe('meshes as scanners and programs leave them', () => {
  it('a hole leaves the outline open, with all that is there', () => {
    const whole = sphere(30, 64);
    const around = cutMesh(whole, level(4.2));
    const holed = without(whole, (t) => t % 37 === 5);
    const section = cutMesh(holed, level(4.2));
    const gone = without(whole, (t) => t % 37 !== 5);
    expect(section.polylines.every((p) => !p.closed)).toBe(true);
    expect(section.polylines.length).toBeGreaterThan(1);
    expect(sectionLength(section) + sectionLength(cutMesh(gone, level(4.2)))).toBeCloseTo(sectionLength(around), 9);
  });

  it('a crack of points that are there twice is not bridged, however narrow', () => {
    // Two halves of a tube, which share no point along their two seams.
    const tube = revolve(
      [
        [10, 0],
        [10, 30],
      ],
      40,
    );
    const half = (right: boolean) =>
      without(tube, (t) => {
        const corners = [0, 1, 2].map((k) => tube.triangles[3 * t + k] % 40);
        return (Math.max(...corners) <= 20 && !(Math.max(...corners) === 39)) !== right;
      });
    const section = cutMesh(together(half(true), half(false)), level(12.3));
    expect(section.polylines.map((p) => p.closed)).toEqual([false, false]);
    expect(sectionLength(section)).toBeCloseTo(2 * 40 * 10 * Math.sin(Math.PI / 40), 9);
  });

  it('triangles with points of their own give a segment each', () => {
    const mesh = cylinder(5, 20, 12);
    const section = cutMesh(unwelded(mesh), level(7));
    expect(shape(section)).toEqual(Array(24).fill('open 2'));
    expect(sectionLength(section)).toBeCloseTo(sectionLength(cutMesh(mesh, level(7))), 11);
  });

  it('a wall across a tube leaves the outline closed and is a piece of its own', () => {
    // Edges 0–4 and 2–6 of the box have three triangles each.
    const walled = box(1, 1, 1);
    const mesh = { ...walled, triangles: Uint32Array.from([...walled.triangles, 0, 2, 6, 0, 6, 4]) };
    for (let seed = 0; seed < 20; seed++) {
      const section = cutMesh(shuffled(mesh, seed), level(0.3));
      expect(section.polylines.map((p) => p.closed).sort()).toEqual([false, true]);
      expect(sectionArea(section)).toBeCloseTo(1, 12);
      expect(sectionLength(section)).toBeCloseTo(4 + Math.SQRT2, 12);
    }
  });

  it('two boxes that share an edge are two outlines', () => {
    const one = box(1, 1, 1);
    // The second lies diagonally across the edge 2–6: its points 0 and 4 are those.
    const far = transformScan(one, placement(0, 0, 0, [1, 1, 0]));
    const renumber = (p: number) => (p === 0 ? 2 : p === 4 ? 6 : p + 8);
    const mesh = {
      ...one,
      positions: Float64Array.from([...one.positions, ...far.positions]),
      triangles: Uint32Array.from([...one.triangles, ...one.triangles.map(renumber)]),
    };
    for (let seed = 0; seed < 20; seed++) {
      const section = cutMesh(shuffled(mesh, seed), level(0.4));
      expect(section.polylines.map((p) => p.closed)).toEqual([true, true]);
      expect(sectionArea(section)).toBeCloseTo(2, 12);
    }
  });

  it('a triangle listed twice, either way around, is cut once', () => {
    const mesh = octahedron();
    const twice = { ...mesh, triangles: Uint32Array.from([...mesh.triangles, 0, 1, 4, 1, 0, 4]) };
    for (const z of [0, 0.3]) {
      expect(shape(cutMesh(twice, level(z)))).toEqual(['closed 4']);
      expect(sectionLength(cutMesh(twice, level(z)))).toBeCloseTo(sectionLength(cutMesh(mesh, level(z))), 14);
    }
  });

  it('an edge split on one side only is not bridged', () => {
    const points: Vec3[] = [
      [0, 0, 0],
      [1, 0, 0],
      [1, 0, 2],
      [0, 0, 2],
      [2, 0, 0],
      [2, 0, 2],
      [1, 0, 1],
    ];
    // The left quad runs along 1–2, the right one along 1–6–2.
    const mesh = meshOf(points, [
      [0, 1, 2],
      [0, 2, 3],
      [1, 4, 6],
      [4, 5, 6],
      [5, 2, 6],
    ]);
    const section = cutMesh(mesh, level(0.6));
    expect(section.polylines.map((p) => p.closed)).toEqual([false, false]);
    expect(sectionLength(section)).toBeCloseTo(2, 13);
  });

  it('triangles that name a point twice are no obstacle', () => {
    const mesh = octahedron();
    const worn = { ...mesh, triangles: Uint32Array.from([0, 4, 4, ...mesh.triangles, 0, 0, 4, 5, 5, 5]) };
    for (const z of [0, 0.3]) expect(shape(cutMesh(worn, level(z)))).toEqual(['closed 4']);
  });

  it('only selected points and the triangles between them are cut', () => {
    const mesh = together(box(1, 1, 1), box(2, 2, 2));
    const select = Uint32Array.from({ length: 8 }, (_, i) => 8 + i);
    expect(sectionArea(cutMesh({ ...mesh, select }, level(0.5)))).toBeCloseTo(4, 12);
  });

  it('order, turn and facing of the triangles change neither length nor pieces', () => {
    const mesh = together(torus(20, 6, 40), sphere(5, 24));
    const plane = { point: [1, 2, 0.2] as Vec3, normal: [0.3, 0.2, 1] as Vec3 };
    const straight = cutMesh(mesh, plane);
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 2, max: 9 }), (seed, every) => {
        const section = cutMesh(
          flipped(shuffled(mesh, seed), (t) => t % every === 0),
          plane,
        );
        expect(sectionLength(section)).toBeCloseTo(sectionLength(straight), 9);
        expect(shape(section)).toEqual(shape(straight));
        // Turned triangles are fewer than the others: the outlines still run around the solid.
        if (every > 3) expect(sectionArea(section)).toBeCloseTo(sectionArea(straight), 8);
      }),
      { numRuns: 40, seed: 7 },
    );
  });

  it('a mesh cut again, where only triangles near the plane are looked at, gives the same to the last digit', () => {
    const again = together(torus(20, 6, 120), sphere(9, 60));
    const facesIn = box(3, 4, 10);
    for (const mesh of [again, facesIn])
      for (let i = 0; i < 12; i++) {
        const plane = {
          point: [0, 0, i % 4 === 0 ? 0 : i / 3] as Vec3,
          normal: [i % 4, i % 3, i % 4 === 0 ? 1 : 4] as Vec3,
        };
        const fresh = { ...mesh, triangles: mesh.triangles.slice() };
        expect(cutMesh(mesh, plane)).toEqual(cutMesh(fresh, plane));
      }
  });

  it('a plane moved and turned with the mesh cuts the same', () => {
    const mesh = torus(20, 6, 30);
    const still = cutMesh(mesh, level(1));
    fc.assert(
      fc.property(fc.float({ noNaN: true, min: -3, max: 3 }), fc.integer({ min: -9000, max: 9000 }), (angle, far) => {
        const m = placement(angle, 1, -angle, [far, 2 * far, -far]);
        const moved = cutMesh(transformScan(mesh, m), { point: put(m, [0, 0, 1]), normal: put(m, [0, 0, 1], 0) });
        expect(sectionArea(moved)).toBeCloseTo(sectionArea(still), 6);
        expect(moved.polylines.map((p) => p.closed)).toEqual([true, true]);
      }),
      { numRuns: 30, seed: 3 },
    );
  });
});

describe('flat coordinates', () => {
  it('are right-handed about the normal and lead back into space', () => {
    const section = cutMesh(torus(20, 6, 50), { point: [3, 1, 2], normal: [1, 2, 3] });
    const { origin, x, y } = section;
    for (const { points, flat } of section.polylines)
      for (let i = 0; i < flat.length / 2; i++)
        for (let k = 0; k < 3; k++)
          expect(origin[k] + flat[2 * i] * x[k] + flat[2 * i + 1] * y[k]).toBeCloseTo(points[3 * i + k], 11);
  });

  it('follow a direction and count from a point, if asked', () => {
    const section = cutMesh(box(3, 4, 5), level(2), { x: [0, 2, 1], origin: [3, 0, 77] });
    expect(section.x).toEqual([0, 1, 0]);
    expect(section.y).toEqual([-1, 0, 0]);
    expect(section.origin).toEqual([3, 0, 2]);
    const { flat } = section.polylines[0];
    expect([Math.min(...flat), Math.max(...flat)]).toEqual([0, 4]);
  });
});

describe('what cannot be cut', () => {
  it('a plane that misses says by how much and where to', () => {
    expect(codeOf(() => cutMesh(box(1, 1, 1), level(3.25)))).toBe(
      'section-misses: box: the section plane misses by 2.25 mm: all of the scan lies on the side its normal points away from. ' +
        'Move it that way.',
    );
    expect(codeOf(() => cutMesh(box(1, 1, 1), level(-1234.5)))).toContain(
      'misses by 1,235 mm: all of the scan lies on the side',
    );
  });

  it('a plane between parts misses the nearer', () => {
    const far = transformScan(box(1, 1, 1), placement(0, 0, 0, [0, 0, 10]));
    expect(codeOf(() => cutMesh(together(box(1, 1, 1), far as ReturnType<typeof box>), level(3)))).toContain(
      'misses by 2 mm: it passes between parts of the scan',
    );
  });

  it('a plane needs a normal, and an axis must not run along it', () => {
    expect(codeOf(() => cutMesh(box(1, 1, 1), { point: [0, 0, 0], normal: [0, 0, 0] }))).toContain('section-plane: ');
    expect(codeOf(() => cutMesh(box(1, 1, 1), { point: [0, NaN, 0], normal: [0, 0, 1] }))).toContain('section-plane: ');
    expect(codeOf(() => cutMesh(box(1, 1, 1), level(0.5), { x: [0, 0, -2] }))).toContain('section-axis: ');
  });
});
