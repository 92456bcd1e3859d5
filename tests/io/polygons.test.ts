import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';
import { file } from './bytes.js';

/** Twice the signed area of a polygon in the plane (shoelace formula). */
const shoelace = (p: readonly (readonly number[])[]) =>
  p.reduce((sum, [x, y], i) => sum + x! * p[(i + 1) % p.length]![1]! - p[(i + 1) % p.length]![0]! * y!, 0);

type Point = readonly [number, number];
/** A plane in space, away from the axes and the origin; 1 mm there is 1 mm. */
const inSpace = ([x, y]: Point): number[] => [1000 + 0.6 * x + 0.64 * y, 2000 - 0.8 * x + 0.48 * y, 3000 + 0.6 * y];
const flat = ([x, y]: Point): number[] => [x, y, 0];

const ply = (points: readonly number[][], face: readonly number[]) =>
  file(
    `ply\nformat ascii 1.0\nelement vertex ${points.length}\nproperty double x\nproperty double y\nproperty double z\n`,
    `element face 1\nproperty list uint uint vertex_indices\nend_header\n${points.map((p) => `${p.join(' ')}\n`).join('')}`,
    `${face.length} ${face.join(' ')}\n`,
  );
const obj = (points: readonly number[][], face: readonly number[]) =>
  file(`${points.map((p) => `v ${p.join(' ')}\n`).join('')}f ${face.map((v) => v + 1).join(' ')}\n`);

/** Area of each triangle, and how often each edge is there, of a face read. */
async function read(bytes: Uint8Array) {
  const { positions: p, triangles = new Uint32Array(0), source } = await readScan(bytes, { units: 'mm' });
  let area = 0;
  const normal = [0, 0, 0];
  const edges = new Map<string, number>();
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = triangles.subarray(t, t + 3);
    const u = [0, 1, 2].map((k) => p[3 * b! + k]! - p[3 * a! + k]!);
    const v = [0, 1, 2].map((k) => p[3 * c! + k]! - p[3 * a! + k]!);
    const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
    area += Math.hypot(...n) / 2;
    for (let k = 0; k < 3; k++) normal[k]! += n[k]! / 2;
    for (const [from, to] of [
      [a, b],
      [b, c],
      [c, a],
    ])
      edges.set(`${from} ${to}`, (edges.get(`${from} ${to}`) ?? 0) + 1);
  }
  const warnings = source.warnings.map((w) => w.code);
  return { area, net: Math.hypot(...normal), edges, warnings, count: triangles.length / 3 };
}

interface Shape {
  readonly points: readonly Point[];
  readonly face?: readonly number[];
}
const comb: Point[] = Array.from({ length: 40 }, (_, i): Point => [i, i % 2 === 0 ? 0 : 5]);
const shapes: Readonly<Record<string, Shape>> = {
  'a frame: a hole that a bridge joins to the border': {
    points: [
      [0, 0],
      [6, 0],
      [6, 4],
      [0, 4],
      [1, 1],
      [1, 3],
      [5, 3],
      [5, 1],
    ],
    face: [0, 1, 2, 3, 0, 4, 5, 6, 7, 4],
  },
  'two holes, bridges from one corner': {
    points: [
      [0, 0],
      [9, 0],
      [9, 9],
      [0, 9],
      [1, 2],
      [1, 4],
      [3, 4],
      [2, 1],
      [4, 3],
      [4, 1],
    ],
    face: [0, 1, 2, 3, 0, 4, 5, 6, 4, 0, 7, 8, 9, 7],
  },
  'a comb': { points: [...comb, [39, -1], [0, -1]] },
  'an L with corners on its straight sides': {
    points: [
      [0, 0],
      [1, 0],
      [2, 0],
      [3, 0],
      [3, 1],
      [2, 1],
      [1, 1],
      [1, 2],
      [1, 3],
      [0, 3],
      [0, 2],
      [0, 1],
    ],
  },
  'an arrow: a quad with a corner turned inward': {
    points: [
      [0, 0],
      [4, 2],
      [0, 4],
      [1, 2],
    ],
  },
  'a star of 200 points': {
    points: Array.from({ length: 200 }, (_, i): Point => {
      const r = i % 2 === 0 ? 10 : 4;
      return [r * Math.cos((i * Math.PI) / 100), r * Math.sin((i * Math.PI) / 100)];
    }),
  },
  'a spiral': {
    points: [
      ...Array.from(
        { length: 120 },
        (_, i): Point => [(1 + i / 10) * Math.cos(i / 10), (1 + i / 10) * Math.sin(i / 10)],
      ),
      ...Array.from({ length: 120 }, (_, k): Point => {
        const i = 119 - k;
        return [(1.3 + i / 10) * Math.cos(i / 10), (1.3 + i / 10) * Math.sin(i / 10)];
      }),
    ],
  },
};

describe.each([
  ['PLY', ply],
  ['OBJ', obj],
])('a face of %s', (_, write) => {
  describe.each([
    ['flat', flat],
    ['slanted, 4 m from the origin', inSpace],
  ])('%s', (_, put) => {
    it.each(Object.entries(shapes))('that is %s is covered once, by its own edges', async (_, { points, face }) => {
      const corners = face ?? points.map((_, i) => i);
      const expected = Math.abs(shoelace(corners.map((c) => points[c]!))) / 2;
      // Turned so that corners begin where a fan would go wrong.
      for (const by of [0, 1, Math.floor(corners.length / 2)]) {
        const turned = corners.map((_, i) => corners[(i + by) % corners.length]!);
        const found = await read(write(points.map(put), turned));
        expect(found.warnings).toEqual([]);
        expect(found.area).toBeCloseTo(expected, 6);
        // All triangles face alike.
        expect(found.net).toBeCloseTo(expected, 6);
        expect(found.count).toBe(corners.length - 2);
        // Each side of the polygon is a side of a triangle, so that neighbors meet it without a crack.
        for (const [i, c] of turned.entries())
          expect(found.edges.has(`${c} ${turned[(i + 1) % turned.length]}`)).toBe(true);
      }
    });
  });

  it('that crosses itself is told', async () => {
    const points: Point[] = [
      [0, 0],
      [4, 4],
      [4, 0],
      [0, 4],
      [2, 6],
    ];
    expect((await read(write(points.map(flat), [0, 1, 2, 3, 4]))).warnings).toEqual(['crooked-polygons']);
  });
});

describe('a face of fewer than three corners is dropped and counted', () => {
  const points = [flat([0, 0]), flat([1, 0]), flat([0, 1])];
  const stl = (loop: string) =>
    `solid\nfacet normal 0 0 1\nouter loop\n${loop}endloop\nendfacet\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n`;
  it.each([
    ['OBJ', file(`${points.map((p) => `v ${p.join(' ')}\n`).join('')}f 1 2\nf\nf 1 2 3\nf 2\n`), 3],
    [
      'text PLY',
      file(
        'ply\nformat ascii 1.0\nelement vertex 3\nproperty double x\nproperty double y\nproperty double z\nelement face 3\nproperty list uint uint vertex_indices\nend_header\n',
        '0 0 0\n1 0 0\n0 1 0\n2 0 1\n3 0 1 2\n0\n',
      ),
      2,
    ],
    ['text STL', file(stl('vertex 0 0 0\nvertex 1 0 0\n')), 1],
    ['text STL with no corner', file(stl('')), 1],
  ])('%s', async (_, bytes, count) => {
    const { triangles, source } = await readScan(bytes, { name: 'scan', units: 'mm' });
    expect([...triangles!]).toEqual([0, 1, 2]);
    expect(source.warnings.map((w) => w.message)).toContain(
      `scan: ${count} ${count === 1 ? 'face' : 'faces'} of fewer than three corners dropped.`,
    );
  });
});
