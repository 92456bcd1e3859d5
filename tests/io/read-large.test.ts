import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { FettleError, seededRandom } from '@fettle/geom';
import { bytesOf, readScan, writePly, writeStl } from '@fettle/io';
import { openScan, writeFileWhole } from '@fettle/io/node';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inPieces } from './bytes.js';

/** A sheet of `side`² points in rows, three numbers a point that single precision holds exactly. */
function sheet(side: number) {
  const positions = new Float64Array(3 * side * side);
  const normals = new Float32Array(3 * side * side);
  for (let v = 0; v < side * side; v++) {
    positions.set([(v % side) / 4, Math.floor(v / side) / 4, ((v * 7919) % 1024) / 256], 3 * v);
    normals.set([0, 0.6, v % 2 === 0 ? 0.8 : -0.8], 3 * v);
  }
  const triangles = new Uint32Array(6 * (side - 1) ** 2);
  for (let j = 0, t = 0; j < side - 1; j++)
    for (let i = 0; i < side - 1; i++, t += 6) {
      const a = j * side + i;
      triangles.set([a, a + 1, a + side + 1, a, a + side + 1, a + side], t);
    }
  return { name: 'sheet', units: 'mm', positions, normals, triangles } as const;
}

/** The corners of all triangles, three coordinates each. */
function corners({ positions, triangles }: ReturnType<typeof sheet>): Float64Array {
  const values = new Float64Array(3 * triangles.length);
  triangles.forEach((v, c) => {
    values.set(positions.subarray(3 * v, 3 * v + 3), 3 * c);
  });
  return values;
}

/** Bit for bit; what the framework compares number by number takes minutes here. */
const isSame = (a: ArrayBufferView | undefined, b: ArrayBufferView) =>
  a !== undefined && Buffer.from(a.buffer).equals(Buffer.from(b.buffer));

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-large-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('arrays so large that their memory is taken ahead', () => {
  const whole = sheet(1000);

  it('PLY', async () => {
    const path = join(folder, 'sheet.ply');
    await writeFileWhole(path, writePly(whole));
    const scan = await openScan(path);
    expect(isSame(scan.positions, whole.positions)).toBe(true);
    expect(isSame(scan.normals, whole.normals)).toBe(true);
    expect(isSame(scan.triangles, whole.triangles)).toBe(true);
  });

  it('STL, every corner a point', async () => {
    const path = join(folder, 'sheet.stl');
    await writeFileWhole(path, writeStl(whole));
    const scan = await openScan(path, { merge: false });
    expect(isSame(scan.positions, corners(whole))).toBe(true);
    expect(
      isSame(
        scan.triangles,
        Uint32Array.from(whole.triangles, (_, c) => c),
      ),
    ).toBe(true);
  });
});

describe('pieces larger than a window, cut within records', () => {
  const whole = sheet(200);

  it.each([4_096, 5_000, 262_144, 300_007, 1 << 20])('of %i bytes', async (size) => {
    const ply = await readScan(inPieces(bytesOf(writePly(whole)), size));
    expect(isSame(ply.positions, whole.positions)).toBe(true);
    expect(isSame(ply.triangles, whole.triangles)).toBe(true);
    const stl = await readScan(inPieces(bytesOf(writeStl(whole)), size), { merge: false });
    expect(isSame(stl.positions, corners(whole))).toBe(true);
  });
});

it.each([
  ['PLY', () => bytesOf(writePly(sheet(40)))],
  ['STL', () => bytesOf(writeStl(sheet(40)))],
])(
  'a damaged %s reads the same, or is refused in the same words, in whole pieces and in small ones',
  async (_, make) => {
    const whole = make();
    const random = seededRandom(17);
    const outcome = async (source: Parameters<typeof readScan>[0], keepWhole: boolean) => {
      try {
        const {
          positions,
          triangles,
          normals,
          source: told,
        } = await readScan(source, { size: damaged.length, keepWhole });
        const hash = createHash('sha256');
        for (const array of [positions, triangles, normals]) if (array) hash.update(Buffer.from(array.buffer));
        return `${hash.digest('hex')} ${JSON.stringify(told)}`;
      } catch (error) {
        expect(error).toBeInstanceOf(FettleError);
        return (error as Error).message;
      }
    };
    let damaged = whole;
    const seen = new Set<string>();
    for (let i = 0; i < 400; i++) {
      damaged = whole.slice(0, random.below(4) === 0 ? random.below(whole.length) : whole.length);
      for (let k = random.below(4); k > 0 && damaged.length > 0; k--) {
        // In the header as often as behind it.
        const at = random.below(2) === 0 ? random.below(Math.min(400, damaged.length)) : random.below(damaged.length);
        damaged[at] = random.below(256);
      }
      const keepWhole = random.below(2) === 0;
      // Pieces of less than 4 KiB pass through the window.
      const told = await outcome(inPieces(damaged, 1 + random.below(4000)), keepWhole);
      expect(await outcome(damaged, keepWhole)).toBe(told);
      seen.add(told);
    }
    expect(seen.size).toBeGreaterThan(100);
  },
);
