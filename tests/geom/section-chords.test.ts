import { readFileSync } from 'node:fs';
import { checkPlan, cutMesh, runPlan, type Vec3 } from '@fettle/geom';
import { expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { chordsOf } from '../../packages/geom/src/section/mesh/chords.js';

/** A tube of `n` points around at each of two heights, its upper ring turned by half a step; normals exact, outward by `side`. */
function tube(radius: number, n: number, side: 1 | -1) {
  const positions: number[] = [];
  const normals: number[] = [];
  const triangles: number[] = [];
  for (const [z, turn] of [
    [-1, 0],
    [1, 0.5],
  ] as const)
    for (let i = 0; i < n; i++) {
      const a = (2 * Math.PI * (i + turn)) / n;
      positions.push(radius * Math.cos(a), radius * Math.sin(a), z);
      normals.push(side * Math.cos(a), side * Math.sin(a), 0);
    }
  for (let i = 0; i < n; i++) {
    const next = (i + 1) % n;
    triangles.push(i, next, n + i, next, n + next, n + i);
  }
  return {
    positions: Float64Array.from(positions),
    normals: Float32Array.from(normals),
    triangles: Uint32Array.from(triangles),
    units: 'mm' as const,
    name: 'tube',
  };
}

const level = { kind: 'plane', point: [0, 0, 0] as Vec3, normal: [0, 0, 1] as Vec3 } as const;

test.each([
  [1, 'a shaft'],
  [-1, 'a hole'],
] as const)('edges aslant over a round wall lie inside it by their sagitta: %i, %s', (side, _) => {
  const mesh = tube(20, 24, side);
  const points = cutMesh(mesh, level).polylines.flatMap((p) => [...p.points]);
  const chords = chordsOf(mesh, level, Float64Array.from(points), () => mesh.normals)!;
  // Every edge turns by half of 15°; cut at its middle, it is the chord's sagitta inside the circle: R (1 − cos 3.75°). Of a shaft that is
  // under its surface, of a hole over it.
  const sagitta = 20 * (1 - Math.cos((3.75 * Math.PI) / 180));
  expect(side * chords.under).toBeGreaterThan(0.995 * sagitta);
  expect(side * chords.under).toBeLessThan(1.005 * sagitta);
  expect(chords.turning).toBe(0);
  expect(Math.hypot(points[0]!, points[1]!)).toBeCloseTo(20 - sagitta, 9);
});

test('places that are no crossings of edges tell nothing', () => {
  const mesh = tube(20, 24, 1);
  expect(chordsOf(mesh, level, Float64Array.of(19, 0, 0), () => mesh.normals)).toBeUndefined();
});

const pump = JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8'));
const frame = pump.steps.findIndex(({ step }: { step: string }) => step === 'frame');

test('a hole cut nearer to its rim than its triangles are long comes out too large, and is warned of', () => {
  const { scan } = scanPump({ triangles: 150_000, seed: 3 });
  const at = { box: { min: [192, 49, -3], max: [219, 76, 0] } };
  const hole = { step: 'fit', shape: 'circle', stretch: at, in: 'datum', plane: 'top' };
  const bore = { sphere: { center: [125.4, -17, -62.2], radius: 45 } };
  const plan = checkPlan({
    ...pump,
    steps: [
      ...pump.steps.slice(0, frame + 1),
      { step: 'section', id: 'under-rim', plane: 'top', offset: -1 },
      { ...hole, id: 'free', to: 'under-rim' },
      { ...hole, id: 'evenly', to: 'under-rim', every: 1 },
      { step: 'section', id: 'in-bore', axis: 'y', at: 5, in: 'datum' },
      { step: 'fit', id: 'bore', shape: 'circle', to: 'in-bore', stretch: bore, in: 'datum', reject: 3.5 },
    ],
  });
  const { sheet } = runPlan(plan, scan);
  const rowOf = (id: string) => sheet.find((row) => row.id === id)!;
  const told = (id: string) => rowOf(id).warnings.filter(({ code }) => code === 'edge-rounded');
  const diameter = rowOf('free').values.find(({ name }) => name === 'diameter')!;
  // Its triangles are some 1.7 mm long. The pump's hole has 18 mm.
  expect(diameter.value - 18).toBeGreaterThan(0.1);
  expect(diameter.value - 18).toBeLessThan(diameter.uncertainty!);
  expect(told('free')[0]!.message).toMatch(
    /^The section runs along (a rounded edge: .* deeper the radius of its wall is 0\.\d+ mm smaller\. That much is in its ±|an edge that the triangles round off: .* The circle may be off by some 0\.\d+ mm: that much is in its ±)\. Cut farther from the edge, by two triangles or more, or scan finer\.$/,
  );
  // Places in between are not where the mesh has points.
  expect(told('evenly')).toEqual([]);
  // The bore's wall is cut 22 mm from its mouth.
  expect(told('bore')).toEqual([]);
});
