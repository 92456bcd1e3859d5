import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { checkPlan, type Feature, type Frame, runPlan, type Vec3, vec3 } from '@fettle/geom';
import { bytesOf, type StepItem, stepOfResults, writeStep } from '@fettle/io';
import { beforeAll, describe, expect, test } from 'vitest';
import { scanPump } from '../../examples/pump/scan-pump.js';
import { expectSeen } from './step-expected.js';
import { parseStepFile } from './step-file.js';
import { everyKind } from './step-items.js';
import { type Seen, seenByKernel } from './step-kernel.js';
import { offences } from './step-schema.js';

const { cross, distance, dot, length, subtract } = vec3;
const date = new Date('2026-03-14T15:09:26Z');

describe('A geometry kernel sees every kind of item as it was given, within 1e-6 mm', () => {
  let seen: Seen;
  beforeAll(async () => {
    seen = await seenByKernel(bytesOf(writeStep(everyKind, { parts: 'one', date })));
  });

  test('all shapes are valid', () => expect(seen.valid).toBe(true));
  test.each(everyKind.map((item) => [item.name, item] as const))('%s', (_, item) => expectSeen(seen, item));
  test('and nothing else', () => {
    const own = (name: string) => everyKind.some((item) => name === item.name || name.startsWith(`${item.name} `));
    expect([...seen.items.keys()].filter((name) => !own(name))).toEqual([]);
  });

  test('after AP242, too', async () => {
    const other = await seenByKernel(bytesOf(writeStep(everyKind, { schema: 'ap242', date, parts: 'one' })));
    expect(other.valid).toBe(true);
    for (const item of everyKind) expectSeen(other, item);
  });

  test('what is wrong is seen as wrong', () => {
    const [plane] = everyKind as [Extract<StepItem, { kind: 'plane' }>];
    expect(() => expectSeen(seen, { ...plane, point: [1, 2, 3 + 2e-6] })).toThrow();
    const circle = everyKind.find((item) => item.kind === 'circle')!;
    expect(() => expectSeen(seen, { ...circle, radius: circle.radius + 2e-6 } as StepItem)).toThrow();
  });
});

describe('The pump in CAD', () => {
  const { scan } = scanPump({ triangles: 150_000 });
  const plan = checkPlan(JSON.parse(readFileSync(new URL('../../examples/pump/plan.json', import.meta.url), 'utf8')));
  const results = runPlan(plan, scan);
  const frame = results.frame!;
  const items = stepOfResults(results, scan);
  const features = results.outcomes.flatMap((o): [string, Feature][] =>
    o.kind === 'fit' ? [[o.id, o.fit.feature]] : o.kind === 'construct' ? [[o.id, o.feature]] : [],
  );
  let seen: Seen;
  beforeAll(async () => {
    seen = await seenByKernel(bytesOf(writeStep(items, { product: 'pump', parts: 'one', date })));
  });

  test('every feature, frame and section is an item, named by its id', () => {
    const geometry = results.outcomes.filter(({ kind }) => ['fit', 'construct', 'frame', 'section'].includes(kind));
    expect(items.map(({ name }) => name)).toEqual(geometry.map(({ id }) => id));
  });

  test('the file follows ISO 10303-21 and its schema', () => {
    for (const parts of ['each', 'one'] as const)
      expect(offences(parseStepFile(bytesOf(writeStep(items, { product: results.title, parts, date }))))).toEqual([]);
  });

  test('the kernel finds all shapes valid', () => expect(seen.valid).toBe(true));
  test('the kernel sees every item as it is', () => {
    for (const item of items) expectSeen(seen, item);
  });

  test.each(features)('%s is where the scan has it, within 1e-6 mm', (name, feature) => {
    expect(offResult(seen, name, feature, frame)).toBeLessThan(1e-6);
  });

  test('faces hold all the points they were fitted to, and not much more', () => {
    for (const outcome of results.outcomes) {
      if (outcome.kind !== 'fit' || outcome.fit.feature.kind !== 'plane') continue;
      const { corners, area } = seen.items.get(outcome.id)!.faces[0]!;
      const [a, b, , d] = inOrder(corners);
      const [u, v] = [subtract(b, a), subtract(d, a)];
      let [least, most] = [Infinity, -Infinity];
      for (const i of outcome.fit.used) {
        const p = frame.toFrame([scan.positions[3 * i]!, scan.positions[3 * i + 1]!, scan.positions[3 * i + 2]!]);
        for (const side of [u, v]) {
          const share = dot(subtract(p, a), side) / dot(side, side);
          least = Math.min(least, share);
          most = Math.max(most, share);
        }
      }
      // Points touch both pairs of sides.
      expect(least).toBeCloseTo(0, 9);
      expect(most).toBeCloseTo(1, 9);
      expect(area).toBeCloseTo(length(cross(u, v)), 3);
    }
  });

  test('another reader lists every part by its name, and its triangles lie on the fitted surfaces', async () => {
    const file = bytesOf(writeStep(items, { product: 'pump', date }));
    const { root, meshes } = await readByImporter(file);
    const parts = root.children[0]!;
    expect(parts.name).toBe('pump');
    expect(parts.children.map(({ name }) => name)).toEqual(items.map(({ name }) => name));
    for (const part of parts.children) {
      const feature = features.find(([id]) => id === part.name)?.[1];
      const isFace = feature && ['plane', 'cylinder', 'cone', 'sphere'].includes(feature.kind);
      expect(part.meshes.length, part.name).toBe(isFace ? 1 : 0);
      for (const m of part.meshes) {
        const { array } = meshes[m]!.attributes.position;
        expect(array.length).toBeGreaterThan(8);
        let most = 0;
        for (let i = 0; i < array.length; i += 3) {
          const p = frame.toScan([array[i]!, array[i + 1]!, array[i + 2]!]);
          most = Math.max(most, Math.abs(offSurface(p, feature!)));
        }
        expect(most, part.name).toBeLessThan(1e-6);
      }
    }
  });

  test('in the scan’s own axes, and only what is named', async () => {
    const [bore] = stepOfResults(results, scan, { in: 'scan', items: ['bore'] });
    const own = await seenByKernel(bytesOf(writeStep([bore!], { parts: 'one', date })));
    const outcome = results.outcomes.find(({ id }) => id === 'bore');
    const fitted = outcome?.kind === 'fit' ? outcome.fit.feature : undefined;
    const [face] = own.items.get('bore')!.faces;
    expect(offSurface([...face!.corners[0]!] as unknown as Vec3, fitted!)).toBeLessThan(1e-6);
    expect(own.items.size).toBe(2);
  });

  test('what is not there is named', () => {
    expect(() => stepOfResults(results, scan, { in: 'nowhere' })).toThrow(/no frame "nowhere"/);
    expect(() => stepOfResults(results, scan, { items: ['bore', 'boar'] })).toThrow(/no "boar"/);
  });

  test('sections as polylines keep every crossing', () => {
    const [wire] = stepOfResults(results, scan, { items: ['along-bore'], sections: 'polylines' });
    const section = results.outcomes.find(({ id }) => id === 'along-bore');
    const { polylines } = section?.kind === 'section' ? section.section : { polylines: [] };
    const longest = polylines.reduce((a, b) => (a.points.length > b.points.length ? a : b));
    const count = longest.points.length / 3 - (longest.closed ? 0 : 1);
    expect(wire?.kind === 'wire' && Math.max(...wire.chains.map((c) => c.length))).toBeCloseTo(count, -1);
  });
});

/** How far what the kernel sees of a result is from it, mm: in place, direction (at 1 mm) or radius. */
function offResult({ items }: Seen, name: string, feature: Feature, frame: Frame): number {
  const item = items.get(name)!;
  const [face] = item.faces;
  const [edge] = item.edges;
  const to = (p: Vec3) => frame.toScan(p);
  const way = (d: Vec3) => subtract(frame.toScan(d), frame.origin);
  switch (feature.kind) {
    case 'plane':
    case 'cylinder':
    case 'cone':
    case 'sphere':
      return Math.max(
        ...face!.corners.map((corner) => Math.abs(offSurface(to(corner), feature))),
        'radius' in feature ? Math.abs(face!.radius - feature.radius) : 0,
        feature.kind === 'cone' ? Math.abs(Math.abs(face!.halfAngle) - feature.halfAngle) : 0,
        feature.kind === 'sphere' ? distance(to(face!.location), feature.center) : 0,
        'normal' in feature ? distance(way(face!.direction), feature.normal) : 0,
        'direction' in feature ? distance(way(face!.direction), feature.direction) : 0,
      );
    case 'line':
      return Math.max(...[edge!.start, edge!.end].map((p) => offAxis(to(p), feature.point, feature.direction)));
    case 'point':
      return distance(to(item.points[0]!), feature.position);
    case 'circle':
      return Math.max(distance(to(edge!.center!), feature.center), Math.abs(edge!.radius! - feature.radius));
    case 'ellipse':
      return Math.max(distance(to(edge!.center!), feature.center), Math.abs(edge!.radius! - feature.major));
    case 'slot': {
      const arcs = item.edges.filter(({ kind }) => kind === 'circle');
      const ends = arcs.map(({ center }) => to(center!));
      const middle: Vec3 = vec3.scale(vec3.add(ends[0]!, ends[1]!), 0.5);
      const apart = distance(ends[0]!, ends[1]!) + feature.width - feature.length;
      return Math.max(
        distance(middle, feature.center),
        Math.abs(apart),
        Math.abs(2 * arcs[0]!.radius! - feature.width),
      );
    }
  }
}

const offAxis = (p: Vec3, on: Vec3, direction: Vec3): number => length(cross(subtract(p, on), direction));

/** Distance from a surface, mm; along the slope for a cone. */
function offSurface(p: Vec3, feature: Feature): number {
  switch (feature.kind) {
    case 'plane':
      return dot(subtract(p, feature.point), feature.normal);
    case 'sphere':
      return distance(p, feature.center) - feature.radius;
    case 'cylinder':
      return offAxis(p, feature.point, feature.direction) - feature.radius;
    case 'cone': {
      const along = dot(subtract(p, feature.apex), feature.direction);
      return (
        (offAxis(p, feature.apex, feature.direction) - along * Math.tan(feature.halfAngle)) *
        Math.cos(feature.halfAngle)
      );
    }
    default:
      throw new Error(`${feature.kind} is no surface`);
  }
}

/** Corners of a rectangle one after the other. */
function inOrder(corners: readonly Vec3[]): Vec3[] {
  const [a, ...others] = distinct(corners);
  const byDistance = others.sort((p, q) => distance(a!, p) - distance(a!, q));
  return [a!, byDistance[0]!, byDistance[2]!, byDistance[1]!];
}

const distinct = (points: readonly Vec3[]): Vec3[] =>
  points.filter((p, i) => points.findIndex((q) => distance(p, q) < 1e-6) === i);

interface Imported {
  readonly root: ImportedNode;
  readonly meshes: readonly { readonly attributes: { readonly position: { readonly array: readonly number[] } } }[];
}
interface ImportedNode {
  readonly name: string;
  readonly meshes: readonly number[];
  readonly children: readonly ImportedNode[];
}

async function readByImporter(file: Uint8Array): Promise<Imported> {
  const start = createRequire(import.meta.url)('occt-import-js') as () => Promise<{
    ReadStepFile(bytes: Uint8Array, options: object): Imported & { success: boolean };
  }>;
  const read = (await start()).ReadStepFile(file, { linearUnit: 'millimeter' });
  expect(read.success).toBe(true);
  return read;
}
