import {
  boxRegion,
  createScan,
  cutMesh,
  deviationInWords,
  FettleError,
  fitSphere,
  gone,
  holes,
  type Mesh,
  pieces,
  regionAfter,
  restore,
  type Simplified,
  seededRandom,
  simplifiedInWords,
  simplify,
  sphereRegion,
  vertexNormals,
} from '@fettle/geom';
import { Triangle, Vector3 } from 'three';
import { expect, test } from 'vitest';
import { ball, face, faceWithSpecks } from './prepare-shapes.js';

const code = async (work: Promise<unknown>): Promise<string> => {
  try {
    await work;
  } catch (error) {
    if (error instanceof FettleError) return error.code;
    throw error;
  }
  return 'no error';
};

/** Distance from a place to a mesh by going through all its triangles; three's closest point on a triangle. */
function distanceTo(mesh: Mesh): (x: number, y: number, z: number) => number {
  const corner = (c: number) => new Vector3().fromArray(mesh.positions, 3 * mesh.triangles[c]);
  const all = Array.from(
    { length: mesh.triangles.length / 3 },
    (_, t) => new Triangle(corner(3 * t), corner(3 * t + 1), corner(3 * t + 2)),
  );
  const found = new Vector3();
  return (x, y, z) => {
    const place = new Vector3(x, y, z);
    return Math.min(...all.map((t) => t.closestPointToPoint(place, found).distanceTo(place)));
  };
}

/** Middles and middles of the longest edges of all triangles. */
function placesOn({ positions, triangles }: Mesh): number[][] {
  const places: number[][] = [];
  for (let t = 0; t < triangles.length; t += 3) {
    const corners = [0, 1, 2].map((k) => [...positions.subarray(3 * triangles[t + k], 3 * triangles[t + k] + 3)]);
    const edges = [0, 1, 2].map((k) => [corners[k], corners[(k + 1) % 3]]);
    const long = (e: number[][]) => Math.hypot(...e[0].map((c, i) => c - e[1][i]));
    const longest = edges.reduce((best, e) => (long(e) > long(best) ? e : best));
    places.push([0, 1, 2].map((i) => (corners[0][i] + corners[1][i] + corners[2][i]) / 3));
    places.push([0, 1, 2].map((i) => (longest[0][i] + longest[1][i]) / 2));
  }
  return places;
}

const statistics = (distances: readonly number[]) => {
  const sorted = distances.toSorted((a, b) => a - b);
  return {
    rms: Math.sqrt(distances.reduce((sum, d) => sum + d * d, 0) / distances.length),
    p95: sorted[Math.ceil(0.95 * sorted.length) - 1],
    max: sorted.at(-1)!,
  };
};

const place = ({ positions }: Mesh, p: number): number[] => [...positions.subarray(3 * p, 3 * p + 3)];

/** Corners of triangles as places, each triangle from its least corner on, in order. */
const asPlaces = (mesh: Mesh, triangles: Iterable<number>): string[] =>
  [...triangles]
    .map((t) => {
      const corners = [0, 1, 2].map((k) => place(mesh, mesh.triangles[3 * t + k]).join(' '));
      const first = corners.indexOf(corners.toSorted()[0]);
      return [0, 1, 2].map((k) => corners[(first + k) % 3]).join(', ');
    })
    .sort();

const sphere = ball(50, 24, [1000.123456789, -2000.987654321, 300]) as Mesh;

test('a simplified sphere: its points are points of the sphere, bit for bit and in order', async () => {
  const { scan, keptPoints, removedPoints, into, from } = await simplify(sphere, { triangles: 600 });
  expect(scan.triangles.length / 3).toBeLessThanOrEqual(600);
  expect(scan.triangles.length / 3).toBeGreaterThan(590);
  expect(from).toBe(sphere);
  for (let i = 0; i < keptPoints.length; i++) {
    expect(place(scan, i)).toEqual(place(sphere, keptPoints[i]));
    expect(into[keptPoints[i]]).toBe(i);
    if (i > 0) expect(keptPoints[i]).toBeGreaterThan(keptPoints[i - 1]);
  }
  for (const p of removedPoints) expect(into[p]).toBe(gone);
  expect(keptPoints.length + removedPoints.length).toBe(sphere.positions.length / 3);
  // Still one closed surface: Euler's V − E + F = 2 with 3 F = 2 E.
  expect(holes(scan)).toHaveLength(0);
  expect(pieces(scan).pieces).toHaveLength(1);
  expect(keptPoints.length - scan.triangles.length / 6).toBe(2);
});

test('its deviation is what going through all triangles finds, both ways, with the place of the largest', async () => {
  const { scan, deviation } = await simplify(sphere, { triangles: 600 });
  const [toNew, toOld] = [distanceTo(scan), distanceTo(sphere)];
  const old = Array.from({ length: sphere.positions.length / 3 }, (_, p) => place(sphere, p));
  const places = placesOn(scan);
  for (const [found, asked, distance] of [
    [deviation.fromOld, old, toNew],
    [deviation.fromNew, places, toOld],
  ] as const) {
    const expected = statistics(asked.map(([x, y, z]) => distance(x, y, z)));
    expect(found.count).toBe(asked.length);
    expect(found.rms).toBeCloseTo(expected.rms, 9);
    expect(found.p95).toBeCloseTo(expected.p95, 9);
    expect(found.max).toBeCloseTo(expected.max, 9);
    expect(distance(...found.at)).toBeCloseTo(found.max, 9);
  }
  expect(deviation.max).toBe(Math.max(deviation.fromOld.max, deviation.fromNew.max));
  // Chords of a sphere are inside it: the new surface is off the sphere by the old one's own sagitta at most more.
  const inside = ([x, y, z]: readonly number[]) => 50 - Math.hypot(x - 1000.123456789, y + 2000.987654321, z - 300);
  const sagitta = Math.max(...placesOn(sphere).map(inside));
  const deepest = Math.max(...places.map(inside));
  expect(deviation.fromNew.max).toBeLessThanOrEqual(deepest + 1e-9);
  expect(deviation.fromNew.max).toBeGreaterThanOrEqual(deepest - sagitta);
});

test('simplified to a deviation nothing is farther off, and most of what is allowed is used', async () => {
  const fine = ball(50, 60) as Mesh;
  let before = fine.triangles.length;
  for (const limit of [0.1, 0.2, 1]) {
    const { scan, deviation } = await simplify(fine, { deviation: limit });
    expect(deviation.max).toBeLessThanOrEqual(limit);
    expect(deviation.max).toBeGreaterThan(limit / 2);
    expect(scan.triangles.length).toBeLessThan(before);
    before = scan.triangles.length;
  }
});

test('under the sagitta of two edges no point at the equator of a ball can be spared, while near the poles many can', async () => {
  const fine = ball(50, 60) as Mesh;
  // Points of a ring are 2 π r / 120 apart: a chord over two such steps leaves the point between them outside by the sagitta.
  const at = (z: number) => (2 * Math.PI * Math.sqrt(2500 - z * z)) / 120;
  const limit = 0.95 * (at(10) ** 2 / (2 * 50));
  const { scan, removedPoints, deviation } = await simplify(fine, { deviation: limit });
  const heights = [...removedPoints].map((p) => Math.abs(fine.positions[3 * p + 2]));
  expect(Math.min(...heights)).toBeGreaterThan(10);
  expect(scan.triangles.length).toBeLessThan(0.9 * fine.triangles.length);
  expect(deviation.max).toBeLessThanOrEqual(limit);
});

test('single rough places do not keep the rest from being simplified', async () => {
  const { positions, triangles } = face(60);
  const spikes = [620, 1900, 3000];
  for (const p of spikes) positions[3 * p + 2] = 0.5;
  const flat = createScan({ positions, triangles }) as Mesh;
  const { scan, into, deviation } = await simplify(flat, { deviation: 0.05 });
  for (const p of spikes) expect(into[p]).not.toBe(gone);
  expect(scan.triangles.length / 3).toBeLessThan(200);
  expect(deviation.max).toBeLessThanOrEqual(0.05);
});

test('a flat face comes down to a few triangles that deviate by nothing; its outline stays', async () => {
  const { positions, triangles } = face(40);
  const flat = createScan({ positions, triangles }) as Mesh;
  const { scan, deviation } = await simplify(flat, { deviation: 0.001 });
  expect(scan.triangles.length / 3).toBeLessThan(20);
  expect(deviation.max).toBeLessThan(1e-9);
  expect(pieces(scan).pieces[0].area).toBeCloseTo(1600, 6);
});

test('a deviation too small for any collapse leaves the mesh as it is', async () => {
  const random = seededRandom(6);
  const { positions, triangles } = face(12);
  const rough = createScan({ positions: positions.map((c) => c + 0.1 * random.normal()), triangles }) as Mesh;
  const { scan, deviation } = await simplify(rough, { deviation: 1e-9 });
  expect(scan.triangles.length).toBe(rough.triangles.length);
  expect(deviation.max).toBeLessThan(1e-9);
});

const bumpy = (() => {
  const random = seededRandom(8);
  const { positions, triangles } = face(80);
  for (let i = 2; i < positions.length; i += 3)
    positions[i] = 4 * Math.sin(positions[i - 2] / 9) + 0.02 * random.normal();
  return createScan({ positions: positions.map((c, i) => c + [700, -300, 90][i % 3]), triangles }) as Mesh;
})();
const protect = boxRegion(bumpy, { min: [720, -280, 0], max: [745, -250, 200] });

/** What protection means: the points, all triangles about them as they run, and what follows from those. */
function expectProtected({ scan, from, into, keptTriangles, protectedTriangles }: Simplified): void {
  const isProtected = new Set(protect);
  const about = [...Array(from.triangles!.length / 3).keys()].filter((t) =>
    [0, 1, 2].some((k) => isProtected.has(from.triangles![3 * t + k])),
  );
  expect([...keptTriangles]).toEqual(about);
  expect(protectedTriangles).toBe(about.length);
  expect(asPlaces(scan, Array(about.length).keys())).toEqual(asPlaces(from as Mesh, about));
  // No other triangle is about a protected point.
  const after = new Set([...protect].map((p) => into[p]));
  expect(after.has(gone)).toBe(false);
  for (let t = about.length; t < scan.triangles.length / 3; t++)
    for (let k = 0; k < 3; k++) expect(after.has(scan.triangles[3 * t + k])).toBe(false);
}

test('a protected region is kept at full density: its points, the triangles about them, its normals', async () => {
  const simplified = await simplify(bumpy, { triangles: 3500, protect });
  const { scan } = simplified;
  expectProtected(simplified);
  expect(scan.triangles.length / 3).toBeLessThanOrEqual(3500);
  expect(scan.triangles.length / 3).toBeGreaterThan(3400);
  const [before, after] = [vertexNormals(bumpy), vertexNormals(scan)];
  const region = regionAfter(simplified, protect);
  expect(region.length).toBe(protect.length);
  for (let i = 0; i < region.length; i++)
    for (let k = 0; k < 3; k++) expect(after[3 * region[i] + k]).toBe(before[3 * protect[i] + k]);
  const close = await simplify(bumpy, { deviation: 0.3, protect });
  expectProtected(close);
  // No crack opens between what is protected and what is not: the only rim is that of the face, about one surface.
  for (const mesh of [scan, close.scan]) {
    expect(holes(mesh)).toHaveLength(1);
    expect(pieces(mesh).pieces).toHaveLength(1);
  }
});

test('a protected ball among the rest is fitted as on the whole scan, digit for digit', async () => {
  const cap = sphereRegion(sphere, { center: [1000, -2000, 350], radius: 30 });
  const simplified = await simplify(sphere, { triangles: 900, protect: cap });
  const region = regionAfter(simplified, cap);
  const on = (points: Mesh, select: Uint32Array) => {
    const { feature, rms, form, residuals, uncertainty } = fitSphere({ ...points, select });
    return { feature, rms, form, residuals, uncertainty };
  };
  expect(on(simplified.scan, region)).toEqual(on(sphere, cap));
});

test('a section through a protected region meets the same triangles', async () => {
  const { scan } = await simplify(bumpy, { triangles: 3500, protect });
  const plane = { kind: 'plane', point: [732.37, -265, 90], normal: [1, 0, 0] } as const;
  const inside = (mesh: Mesh) =>
    cutMesh(mesh, plane)
      .polylines.flatMap(({ points }) =>
        Array.from({ length: points.length / 3 }, (_, i) => [...points.subarray(3 * i, 3 * i + 3)]),
      )
      .filter(([, y]) => y > -280 && y < -250)
      .map((p) => p.join(' '))
      .sort();
  expect(inside(scan)).toEqual(inside(bumpy));
  expect(inside(scan).length).toBeGreaterThan(50);
});

test('the border of an open mesh is not eaten away', async () => {
  const { scan } = await simplify(bumpy, { deviation: 0.3 });
  const rim = holes(scan);
  expect(rim).toHaveLength(1);
  const extent = (mesh: Mesh, k: number) => {
    const values = [...mesh.positions].filter((_, i) => i % 3 === k);
    return Math.max(...values) - Math.min(...values);
  };
  for (const k of [0, 1]) expect(Math.abs(extent(scan, k) - extent(bumpy, k))).toBeLessThan(0.3);
});

test('normals and colors of kept points go along', async () => {
  const scan = faceWithSpecks(20, 2) as Mesh;
  const simplified = await simplify(scan, { triangles: 100 });
  simplified.keptPoints.forEach((p, i) => {
    for (let k = 0; k < 3; k++) {
      expect(simplified.scan.normals![3 * i + k]).toBe(scan.normals![3 * p + k]);
      expect(simplified.scan.colors![3 * i + k]).toBe(scan.colors![3 * p + k]);
    }
  });
  expect(restore(simplified)).toBe(scan);
});

test('what was measured is told in words, with its place', async () => {
  const simplified = await simplify(bumpy, { triangles: 3500, protect });
  const { fromOld, fromNew } = simplified.deviation;
  const words = simplifiedInWords(simplified);
  const count = (n: number) => n.toLocaleString('en-US');
  expect(words).toMatch(
    /^12,800 triangles simplified to (3,4\d\d|3,500), 1,[\d,]+ of them protected; all 6,561 original points/,
  );
  expect(words).toContain(`at ${count(fromNew.count)} places`);
  expect(words).toContain(
    `(${fromOld.at.map((c) => c.toLocaleString('en-US', { maximumFractionDigits: 1 })).join(', ')}) mm`,
  );
  expect(deviationInWords(simplified.deviation)).toContain('rms 0.0');
});

test('what cannot be simplified is refused with what to do', async () => {
  const cloud = createScan({ positions: [0, 0, 0, 1, 0, 0, 0, 1, 0] });
  expect(await code(simplify(cloud, { triangles: 1 }))).toBe('prepare-cloud');
  expect(await code(simplify(bumpy, {}))).toBe('prepare-limit');
  expect(await code(simplify(bumpy, { triangles: 10, deviation: 1 }))).toBe('prepare-limit');
  expect(await code(simplify(bumpy, { deviation: 0 }))).toBe('prepare-limit');
  expect(await code(simplify(bumpy, { triangles: 500, protect }))).toBe('simplify-protected');
  await expect(simplify(bumpy, { triangles: 500, protect })).rejects.toThrow(
    /1,\d\d\d of 12,800 triangles are protected/,
  );
  expect(await code(simplify(bumpy, { triangles: 500, protect: Uint32Array.of(6561) }))).toBe('region-index-range');
  expect(await code(simplify(bumpy, { triangles: 500, signal: { aborted: true } }))).toBe('aborted');
});

test('more triangles than there are leave the mesh as it is', async () => {
  const { scan, deviation } = await simplify(bumpy, { triangles: 1e6 });
  expect(scan.triangles.length).toBe(bumpy.triangles.length);
  expect(deviation.max).toBeLessThan(1e-9);
});
