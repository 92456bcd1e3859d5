import { readdirSync, readFileSync } from 'node:fs';
import { FettleError, type Random, seededRandom } from '@fettle/geom';
import { type ReadScan, readScan } from '@fettle/io';
import type { BufferGeometry, Mesh } from 'three';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { damaged } from './damage.js';
import { zipFile } from './zip-file.js';

const fixtures = new URL('../fixtures/', import.meta.url);
const load = (url: URL) => new Uint8Array(readFileSync(url));
const names = (url: URL, pattern: RegExp) => readdirSync(url).filter((name) => pattern.test(name));

/** Small files of every kind, right and wrong: what is mutated, the right ones as often as the wrong. */
const right = names(fixtures, /^small-/).map((name) => load(new URL(name, fixtures)));
/** Those of the formats three's loaders read. */
const common = names(fixtures, /^small-.*\.(ply|obj|stl)$/).map((name) => load(new URL(name, fixtures)));
const wrong = names(new URL('malformed/', fixtures), /./).map((name) => load(new URL(`malformed/${name}`, fixtures)));
const pick = (random: Random): Uint8Array => {
  const from = random.below(2) === 0 ? right : wrong;
  return from[random.below(from.length)];
};

/** In how many pieces: a stream with and without a size, and the whole. */
async function* pieces(bytes: Uint8Array, size: number) {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

/** Cases a run; FUZZ=100000 for a long one. */
const CASES = Number(process.env.FUZZ ?? 4000);
const options = { timeout: 3_600_000 };

describe('a file damaged at random', () => {
  it(`is read as a sound scan or refused in words, ${CASES} times`, options, async () => {
    const random = seededRandom(20_240_611);
    let read = 0;
    for (let i = 0; i < CASES; i++) {
      const bytes = damaged(pick(random), random, pick);
      const keepWhole = random.below(4) === 0;
      const source = random.below(2) === 0 ? bytes : pieces(bytes, 1 + random.below(200));
      const memory = process.memoryUsage().arrayBuffers;
      const start = performance.now();
      let result: Awaited<ReturnType<typeof readScan>> | undefined;
      try {
        result = await readScan(source, { name: 'scan', keepWhole });
      } catch (error) {
        if (!(error instanceof FettleError) || !error.message.startsWith('scan: ')) throw error;
      }
      // Windows and scratch take some ten megabytes whatever the file; a count taken at its word takes gigabytes.
      expect(process.memoryUsage().arrayBuffers - memory).toBeLessThan(100e6);
      expect(performance.now() - start).toBeLessThan(5000);
      if (result === undefined) continue;
      read++;
      const { positions, triangles, normals, colors } = result;
      const sound =
        positions.length > 0 &&
        positions.length % 3 === 0 &&
        positions.every(Number.isFinite) &&
        (triangles === undefined || (triangles.length % 3 === 0 && triangles.every((v) => v < positions.length / 3))) &&
        (normals === undefined || (normals.length === positions.length && normals.every(Number.isFinite))) &&
        (colors === undefined || colors.length === positions.length);
      if (!sound) throw new Error(`case ${i} gave a scan that is none: ${Buffer.from(bytes).toString('base64')}`);
    }
    // Both happen often enough to mean something.
    expect(read).toBeGreaterThan(CASES / 20);
    expect(CASES - read).toBeGreaterThan(CASES / 20);
  });
});

describe('a model of a 3MF file damaged at random, in an archive whose checks hold', () => {
  it(`is read or refused in words, ${CASES / 4} times`, options, async () => {
    const random = seededRandom(11);
    const model = new TextEncoder().encode(
      `<model unit="inch"><resources><object id="1"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1e1" y="0" z="0"/>
       <vertex x="0" y="1" z="0.5"/></vertices><triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh></object>
       <object id="2"><components><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 10 20 30"/></components></object>
       </resources><build><item objectid="2"/><item objectid="1"/></build></model>`,
    );
    let read = 0;
    for (let i = 0; i < CASES / 4; i++) {
      const bytes = zipFile([{ name: '3D/3dmodel.model', content: damaged(model, random, pick, 1), isStored: true }]);
      const start = performance.now();
      await readScan(bytes, { name: 'scan' }).then(
        ({ positions, triangles }) => {
          read++;
          expect(positions.every(Number.isFinite)).toBe(true);
          expect(triangles?.every((v) => v < positions.length / 3) ?? true).toBe(true);
        },
        (error: unknown) => expect(error).toBeInstanceOf(FettleError),
      );
      expect(performance.now() - start).toBeLessThan(5000);
    }
    expect(read).toBeGreaterThan(CASES / 40);
  });
});

describe('a file damaged in one or two bytes that is read without a warning', () => {
  // The loaders speak of what they make of bad lines.
  beforeAll(() => {
    for (const word of ['log', 'warn', 'error'] as const) vi.spyOn(console, word).mockImplementation(() => undefined);
  });
  afterAll(() => {
    vi.restoreAllMocks();
  });

  it(`is read as three's loader reads it, ${CASES} times`, options, async () => {
    const random = seededRandom(7);
    let agreed = 0;
    for (let i = 0; i < CASES; i++) {
      const bytes = common[random.below(common.length)].slice();
      for (let changes = 1 + random.below(2); changes > 0; changes--) {
        const at = random.below(bytes.length);
        if (random.below(2) === 0) bytes[at] ^= 1 << random.below(8);
        else bytes[at] = random.below(2) === 0 ? 48 + random.below(10) : random.below(128);
        // Behind # stands a comment, and a carriage return ends a line: damage that cannot be told, and the loader knows no such line ends.
        if (bytes[at] === 35 || bytes[at] === 13) bytes[at] = 36;
      }
      const scan = await readScan(bytes, { name: 'scan', units: 'mm' }).catch((error: unknown) => {
        if (error instanceof FettleError) return undefined;
        throw error;
      });
      if (scan === undefined) continue;
      // Units and extent say nothing about how the file was read.
      if (scan.source.warnings.some((w) => !['units-differ', 'implausible-extent'].includes(w.code))) continue;
      const theirs = cornersByThree(scan, bytes);
      if (theirs === undefined) continue;
      const ours = cornersOf(scan);
      if (ours.some((c, k) => c !== theirs[k]) || ours.length !== theirs.length) {
        // A quad whose corner the damage has turned inward is cut along its other diagonal: other triangles of the same points.
        const [a, b] = [ours, theirs].map(pointsOf);
        if (ours.length === theirs.length && a.size === b.size && [...a].every((p) => b.has(p))) continue;
        throw new Error(`case ${i} is read otherwise: ${JSON.stringify(Buffer.from(bytes).toString('latin1'))}`);
      }
      agreed++;
    }
    expect(agreed).toBeGreaterThan(CASES / 5);
  });
});

function cornersOf({ positions, triangles = new Uint32Array(0) }: ReadScan): number[] {
  const corners: number[] = [];
  for (const v of triangles) for (let k = 3 * v; k < 3 * v + 3; k++) corners.push(Math.fround(positions[k]));
  return corners;
}

const pointsOf = (corners: readonly number[]): Set<string> =>
  new Set(Array.from({ length: corners.length / 3 }, (_, i) => corners.slice(3 * i, 3 * i + 3).join(' ')));

/** What three's loader reads, undefined where it is known to be wrong (tests/io/read-three.test.ts) or gives up. */
function cornersByThree({ source, triangles }: ReadScan, bytes: Uint8Array): number[] | undefined {
  const text = () => new TextDecoder().decode(bytes);
  const buffer = bytes.slice().buffer as ArrayBuffer;
  try {
    // Damage may leave a list of points, which is no format of theirs.
    if (source.format === 'xyz') return undefined;
    if (source.format === 'ply') {
      const geometry = new PLYLoader().parse(withSmallNames(bytes));
      // A cloud has no corners; the loader counts every point as one.
      return geometry.index === null && triangles === undefined ? [] : cornersOfGeometry(geometry);
    }
    if (source.format === 'stl') {
      // The words of the format in capitals are words of the format.
      return cornersOfGeometry(
        new STLLoader().parse(source.encoding === 'text' ? (text().toLowerCase() as never) : buffer),
      );
    }
    const { children } = new OBJLoader().parse(text());
    // An object with a line in it is all lines to the loader, and a vertex named before it stands is none.
    if (children.some((child) => child.type !== 'Mesh')) return undefined;
    const corners = children.flatMap((child) => cornersOfGeometry((child as Mesh).geometry));
    return corners.some(Number.isNaN) ? undefined : corners;
  } catch {
    return undefined;
  }
}

/** The loader knows no coordinates named by capitals. */
function withSmallNames(bytes: Uint8Array): ArrayBuffer {
  const text = Buffer.from(bytes).toString('latin1');
  const head = text.slice(0, text.indexOf('end_header'));
  const small = head.replace(/^(property\s+\w+\s+)([XYZ])(?=\s*$)/gm, (_, before, name) => before + name.toLowerCase());
  return new Uint8Array(Buffer.from(small + text.slice(head.length), 'latin1')).buffer;
}

function cornersOfGeometry(geometry: BufferGeometry): number[] {
  const position = geometry.getAttribute('position');
  const order = geometry.index?.array ?? Uint32Array.from({ length: position.count }, (_, i) => i);
  const corners: number[] = [];
  for (const v of order)
    for (const c of [position.getX(v), position.getY(v), position.getZ(v)]) corners.push(Math.fround(c));
  return corners;
}
