import {
  boundaryEdges,
  bounds,
  cloudNormals,
  createScan,
  FettleError,
  frameOf,
  holes,
  type Mesh,
  noPiece,
  pieces,
  pointSpacing,
  pointTriangles,
  seededRandom,
  transformScan,
  type Vec3,
  vertexNormals,
} from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import {
  box,
  cloudOf,
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
  without,
} from './section-solids.js';

const messageOf = (work: () => unknown): string => {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return `${error.code}: ${error.message}`;
    throw error;
  }
  return 'no error';
};

const vectors = (array: ArrayLike<number>): Vec3[] =>
  Array.from({ length: array.length / 3 }, (_, i) => [array[3 * i], array[3 * i + 1], array[3 * i + 2]]);

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

describe('a scan is checked when it is made', () => {
  const corner = [0, 0, 0, 1, 0, 0, 0, 1, 0];

  it('keeps typed arrays as they are and rounds nothing', () => {
    const positions = Float64Array.of(0.1, 1e9 + 0.1, Math.PI);
    expect(createScan({ positions }).positions).toBe(positions);
    expect(createScan({ positions: [0.1, 1e9 + 0.1, Math.PI] })).toEqual({ positions, units: 'mm', name: 'scan' });
    const triangles = Uint32Array.of(0, 1, 2);
    expect(createScan({ positions: corner, triangles }).triangles).toBe(triangles);
  });

  it('without triangles it is a cloud', () => {
    expect(createScan({ positions: corner, triangles: [] })).not.toHaveProperty('triangles');
  });

  it('brings normals to unit length and leaves unknown ones zero', () => {
    const { normals } = createScan({ positions: corner, normals: [0, 0, 3, 0, 0, 0, 0, -0.6, 0.8] });
    expect(Array.from(normals!)).toEqual([0, 0, 1, 0, 0, 0, 0, -0.6, 0.8].map(Math.fround));
  });

  it('clamps colors to 0 to 255', () => {
    const { colors } = createScan({ positions: corner, colors: [0, 128, 255, -4, 300, 7.4, 1, 2, 3] });
    expect(Array.from(colors!)).toEqual([0, 128, 255, 0, 255, 7, 1, 2, 3]);
  });

  it.each([
    [{ positions: [] }, 'scan-empty: part.ply: holds no points. Export the scan again.'],
    [
      { positions: [1, 2, 3, 4] },
      'scan-length: part.ply: 4 coordinates are no whole number of points. Give x, y and z for each point.',
    ],
    [
      { positions: [0, 0, 0, 1, NaN, 0, 0, 1, Infinity] },
      'scan-not-finite: part.ply: 2 coordinates are not a finite number, the first in point 1 of 3 (NaN). Leave such points out.',
    ],
    [
      { positions: corner, triangles: [0, 1, 2, 0, 3, 1] },
      'scan-index-range: part.ply: triangle 1 of 2 names point 3, but there are only points 0 to 2. Export it again.',
    ],
    [
      { positions: corner, triangles: [0, 1, -1] },
      'scan-index-range: part.ply: triangle 0 of 1 names point -1, but there are only points 0 to 2. Export it again.',
    ],
    [
      { positions: corner, triangles: [0, 1, 0.5] },
      'scan-index-range: part.ply: triangle 0 of 1 names point 0.5, but there are only points 0 to 2. Export it again.',
    ],
    [
      { positions: corner, triangles: [0, 1, 2, 0] },
      'scan-length: part.ply: 4 indices are no whole number of triangles. Give three for each triangle.',
    ],
    [
      { positions: corner, normals: [0, 0, 1] },
      'scan-length: part.ply: 3 numbers of normals for 3 points, expected 9. Give three for each point, or none at all.',
    ],
    [
      { positions: corner, normals: [0, 0, 1, 0, 0, NaN, 0, 0, 1] },
      'scan-not-finite: part.ply: 1 normal is not a finite number, the first in point 1 of 3 (NaN). Leave such points out.',
    ],
    [
      { positions: corner, colors: [1, 2, 3, 4] },
      'scan-length: part.ply: 4 numbers of colors for 3 points, expected 9. Give three for each point, or none at all.',
    ],
  ])('refuses %j', (parts, message) => {
    expect(messageOf(() => createScan({ name: 'part.ply', ...parts }))).toBe(message);
  });
});

describe('bounds', () => {
  it('are those of the points selected', () => {
    const mesh = box(3, 4, 5);
    expect(bounds(mesh)).toEqual({ min: [0, 0, 0], max: [3, 4, 5] });
    expect(bounds({ ...mesh, select: Uint32Array.of(6, 2) })).toEqual({ min: [3, 4, 0], max: [3, 4, 5] });
  });

  it('of nothing there are none', () => {
    expect(messageOf(() => bounds({ ...box(1, 1, 1), select: new Uint32Array() }))).toContain('points-empty: ');
  });
});

describe('a scan moved', () => {
  it('into a frame has the coordinates the frame gives', () => {
    const frame = frameOf([10, -20, 30], [0.6, 0.8, 0], [0, 0, 1]);
    const mesh = torus(20, 6, 24);
    const moved = transformScan({ ...mesh, colors: new Uint8Array(mesh.positions.length) }, frame);
    for (const [i, p] of vectors(mesh.positions).entries()) {
      const expected = frame.toFrame(p);
      for (let k = 0; k < 3; k++) expect(moved.positions[3 * i + k]).toBeCloseTo(expected[k], 11);
    }
    expect(moved.triangles).toBe(mesh.triangles);
    expect(moved.name).toBe(mesh.name);
    expect(moved.colors).toHaveLength(mesh.positions.length);
  });

  it('keeps its normals square to its faces, also where it is stretched or mirrored', () => {
    const mesh = sphere(10, 60);
    const own = { ...mesh, normals: vertexNormals(mesh) };
    for (const m of [
      placement(1, 2, 3, [5, 6, 7]),
      [2, 0, 0, 0, 0, 0.5, 0, 0, 0.3, 0, 1, 0, 1, 2, 3, 1],
      [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1],
    ]) {
      const moved = transformScan(own, m) as Mesh;
      // Of a finely tessellated sphere the normals carried along and those taken anew agree to the facets.
      const anew = vectors(vertexNormals(moved));
      for (const [i, n] of vectors(moved.normals!).entries()) expect(dot(n, anew[i])).toBeGreaterThan(0.99);
    }
  });

  it.each([
    [[1, 0, 0, 0], 'has 4 numbers, not 16'],
    [[1, 0, 0, 0, 0, 1, 0, 0, 0, 0, NaN, 0, 0, 0, 0, 1], 'holds NaN at place 10'],
    [[1, 0, 0, 5, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1], 'has the last row 5, 0, 0, 1, not 0, 0, 0, 1'],
    [[1, 0, 0, 0, 0, 1, 0, 0, 1, 1, 0, 0, 0, 0, 0, 1], 'flattens space'],
  ])('by %j is refused', (m, why) => {
    expect(messageOf(() => transformScan(box(1, 1, 1), m))).toContain(
      `transform-matrix: The matrix to move the scan by ${why}`,
    );
  });
});

describe('the triangles about a point', () => {
  it('are listed in ascending order, each for each of its corners', () => {
    const mesh = shuffled(torus(20, 6, 20), 3);
    const { offsets, triangles } = pointTriangles(mesh);
    for (let p = 0; p < mesh.positions.length / 3; p++) {
      const expected = Array.from({ length: mesh.triangles.length / 3 }, (_, t) => t).filter((t) =>
        mesh.triangles.subarray(3 * t, 3 * t + 3).includes(p),
      );
      expect(Array.from(triangles.subarray(offsets[p], offsets[p + 1]))).toEqual(expected);
    }
  });
});

describe('connected pieces', () => {
  it('are told apart with their sizes, largest first', () => {
    const far = transformScan(box(2, 3, 4), placement(0, 0, 0, [50, 0, 0])) as Mesh;
    const found = pieces(shuffled(together(together(octahedron(), far), torus(20, 6, 30)), 5));
    expect(found.pieces.map((p) => [p.points, p.triangles])).toEqual([
      [900, 1800],
      [8, 12],
      [6, 8],
    ]);
    expect(found.pieces[1].area).toBeCloseTo(52, 12);
    expect(found.pieces[2].area).toBeCloseTo(8 * (Math.sqrt(3) / 2), 12);
    expect(Array.from(found.labels.subarray(0, 6))).toEqual(Array(6).fill(2));
    expect(Array.from(found.labels.subarray(6, 14))).toEqual(Array(8).fill(1));
    expect(found.labels.subarray(14).every((l) => l === 0)).toBe(true);
  });

  it('points without triangles belong to none', () => {
    const mesh = octahedron();
    const loose = { ...mesh, positions: Float64Array.from([...mesh.positions, 9, 9, 9]) };
    expect(pieces(loose).pieces).toHaveLength(1);
    expect(pieces(loose).labels[6]).toBe(noPiece);
    expect(pieces(cloudOf(mesh)).pieces).toEqual([]);
  });
});

describe('holes', () => {
  it('a closed mesh has none, nor has a cloud', () => {
    expect(holes(torus(20, 6, 20))).toEqual([]);
    expect(holes(cloudOf(torus(20, 6, 20)))).toEqual([]);
  });

  it('a tube has two rims, of the perimeters of its ends', () => {
    const n = 36;
    const found = holes(
      revolve(
        [
          [5, 0],
          [10, 30],
        ],
        n,
      ),
    );
    const perimeter = (r: number) => 2 * n * r * Math.sin(Math.PI / n);
    expect(found.map((h) => [h.points.length, h.closed])).toEqual([
      [n, true],
      [n, true],
    ]);
    expect(found[0].perimeter).toBeCloseTo(perimeter(10), 10);
    expect(found[1].perimeter).toBeCloseTo(perimeter(5), 10);
  });

  it('two triangles lost that touch in a point leave two holes', () => {
    const mesh = octahedron();
    const found = holes(without(mesh, (t) => t === 0 || t === 2));
    expect(found.map((h) => [h.points.length, h.closed])).toEqual([
      [3, true],
      [3, true],
    ]);
    expect(found[0].perimeter).toBeCloseTo(3 * Math.SQRT2, 13);
  });

  it('triangles turned over, in any order, change no hole', () => {
    const torn = without(sphere(10, 40), (t) => t % 31 === 4);
    const expected = holes(torn).map((h) => h.perimeter);
    const found = holes(flipped(shuffled(torn, 9), (t) => t % 3 === 0)).map((h) => h.perimeter);
    expect(found).toHaveLength(expected.length);
    for (const [i, p] of found.entries()) expect(p).toBeCloseTo(expected[i], 10);
  });

  it('every border edge is in one hole, beside edges of three triangles too', () => {
    // A fin on an edge of a tetrahedron: three of its edges are borders, and the fourth has three triangles.
    const points: Vec3[] = [
      [0, 0, 0],
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
      [1, 1, 1],
    ];
    const mesh = meshOf(points, [
      [0, 2, 1],
      [0, 1, 3],
      [1, 2, 3],
      [2, 0, 3],
      [1, 2, 4],
    ]);
    expect(boundaryEdges(mesh)).toHaveLength(4);
    const found = holes(mesh);
    expect(found.map((h) => [h.points.length, h.closed])).toEqual([[3, false]]);
    expect(found[0].perimeter).toBeCloseTo(Math.hypot(0, 1, 1) + Math.hypot(1, 0, 1), 13);
  });
});

describe('point spacing', () => {
  it('of a mesh is its median edge', () => {
    // Two legs and a hypotenuse each: the middle one of the three lengths.
    expect(
      pointSpacing(
        meshOf(
          [
            [0, 0, 0],
            [3, 0, 0],
            [0, 4, 0],
          ],
          [[0, 1, 2]],
        ),
      ),
    ).toBe(4);
  });

  it('of points in rows is that of the rows, however often each is there', () => {
    const rows = Array.from({ length: 900 }, (_, i): Vec3 => [0.25 * (i % 30), 0.25 * Math.floor(i / 30), 0]);
    expect(pointSpacing(createScan({ positions: rows.flat() }))).toBe(0.25);
    expect(pointSpacing(createScan({ positions: [...rows, ...rows, ...rows, ...rows, ...rows].flat() }))).toBe(0.25);
  });

  it('of points at random on a surface is √(ln 2 / π) times the root of the area per point', () => {
    // Median of the nearest neighbor's distance in a plane Poisson process (Clark & Evans, Ecology 35 (1954)).
    const random = seededRandom(4);
    const positions = Float64Array.from({ length: 90_000 }, (_, i) => (i % 3 === 2 ? 0 : 100 * random.next()));
    const expected = Math.sqrt(Math.log(2) / Math.PI) * Math.sqrt(100 ** 2 / 30_000);
    expect(pointSpacing(createScan({ positions })) / expected).toBeCloseTo(1, 1);
  });

  it('of one point, or many in one place, is 0', () => {
    expect(pointSpacing(createScan({ positions: [1, 2, 3] }))).toBe(0);
    expect(pointSpacing(createScan({ positions: new Float64Array(3000).fill(7) }))).toBe(0);
  });
});

describe('normals of a mesh', () => {
  it('of a box do not depend on how its faces are cut into triangles, by angle', () => {
    const normals = vectors(vertexNormals(box(2, 2, 2)));
    for (const [i, p] of vectors(box(2, 2, 2).positions).entries())
      for (let k = 0; k < 3; k++) expect(normals[i][k]).toBeCloseTo((p[k] - 1) / Math.sqrt(3), 6);
  });

  it('of a sphere point outward, by angle and by area', () => {
    const mesh = sphere(10, 60);
    for (const weight of ['angle', 'area'] as const)
      for (const [i, n] of vectors(vertexNormals(mesh, weight)).entries())
        expect(dot(n, vectors(mesh.positions)[i]) / 10).toBeGreaterThan(0.9985);
  });

  it('are zero where there are no triangles', () => {
    const mesh = octahedron();
    const loose = { ...mesh, positions: Float64Array.from([...mesh.positions, 9, 9, 9]) };
    expect(Array.from(vertexNormals(loose).subarray(18))).toEqual([0, 0, 0]);
  });
});

describe('normals of a cloud', () => {
  const random = seededRandom(11);
  const scattered = (
    count: number,
    at: (u: number, v: number) => readonly [place: Vec3, normal: Vec3],
    noise: number,
  ) => {
    const made = Array.from({ length: count }, () => at(random.next(), random.next()));
    const positions = made.flatMap(([p, n]) => {
      const e = noise * random.normal();
      return p.map((c, k) => c + e * n[k]);
    });
    return { scan: createScan({ positions }), truth: made.map(([, n]) => n) };
  };
  const ball = (radius: number, center: Vec3) => (u: number, v: number) => {
    const z = 2 * u - 1;
    const r = Math.sqrt(1 - z * z);
    const n: Vec3 = [r * Math.cos(2 * Math.PI * v), r * Math.sin(2 * Math.PI * v), z];
    return [n.map((c, k) => radius * c + center[k]) as unknown as Vec3, n] as const;
  };
  const ring = (u: number, v: number) => {
    const [a, b] = [2 * Math.PI * u, 2 * Math.PI * v];
    const n: Vec3 = [Math.cos(a) * Math.cos(b), Math.sin(a) * Math.cos(b), Math.sin(b)];
    return [[20 * Math.cos(a) + 8 * n[0], 20 * Math.sin(a) + 8 * n[1], 8 * n[2]], n] as const;
  };

  it('of a ball and a ring face outward everywhere, and follow the surface', () => {
    for (const at of [ball(10, [500, -300, 20]), ring]) {
      const { scan, truth } = scattered(6000, at, 0.02);
      const normals = vectors(cloudNormals(scan));
      const along = normals.map((n, i) => dot(n, truth[i])).sort((a, b) => a - b);
      expect(along[0]).toBeGreaterThan(0.7);
      // Half of them within 3°.
      expect(along[3000]).toBeGreaterThan(Math.cos((3 * Math.PI) / 180));
    }
  });

  it('face outward for each part of its own', () => {
    const one = scattered(1500, ball(5, [0, 0, 0]), 0);
    const two = scattered(1500, ball(5, [40, 0, 0]), 0);
    const normals = vectors(cloudNormals(createScan({ positions: [...one.scan.positions, ...two.scan.positions] })));
    for (const [i, n] of [...one.truth, ...two.truth].entries()) expect(dot(n, normals[i])).toBeGreaterThan(0.9);
  });

  it('face the scanner if it is known where it stood', () => {
    const { scan } = scattered(2000, ball(10, [0, 0, 0]), 0);
    const eye: Vec3 = [0, 0, 100];
    for (const [i, n] of vectors(cloudNormals(scan, { toward: eye })).entries())
      expect(dot(n, eye.map((c, k) => c - scan.positions[3 * i + k]) as unknown as Vec3)).toBeGreaterThanOrEqual(0);
  });

  it('are unknown along a line, and need three points', () => {
    const line = createScan({ positions: Array.from({ length: 90 }, (_, i) => (i % 3 === 0 ? i : 0)) });
    expect(cloudNormals(line).every((c) => c === 0)).toBe(true);
    expect(messageOf(() => cloudNormals(line, { neighbors: 2 }))).toContain('normals-neighbors: ');
  });

  it('turn with the cloud', () => {
    const { scan } = scattered(800, ring, 0);
    const m = placement(0.4, 1.2, 2, [1000, 2000, 3000]);
    const still = vectors(cloudNormals(scan));
    for (const [i, n] of vectors(cloudNormals(transformScan(scan, m))).entries())
      expect(dot(n, put(m, still[i], 0))).toBeCloseTo(1, 5);
  });
});

it('a cylinder is one piece without holes', () => {
  expect(pieces(cylinder(5, 20, 30)).pieces).toHaveLength(1);
  expect(holes(cylinder(5, 20, 30))).toEqual([]);
});
