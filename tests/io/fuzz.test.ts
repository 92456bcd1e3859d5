import { readdirSync, readFileSync } from 'node:fs';
import { FettleError, type Random, seededRandom } from '@fettle/geom';
import { readScan } from '@fettle/io';
import { describe, expect, it } from 'vitest';

const fixtures = new URL('../fixtures/', import.meta.url);
const load = (url: URL) => new Uint8Array(readFileSync(url));
const names = (url: URL, pattern: RegExp) => readdirSync(url).filter((name) => pattern.test(name));

/** Small files of every kind, right and wrong: what is mutated, the right ones as often as the wrong. */
const right = names(fixtures, /^small-/).map((name) => load(new URL(name, fixtures)));
const wrong = names(new URL('malformed/', fixtures), /./).map((name) => load(new URL(`malformed/${name}`, fixtures)));
const pick = (random: Random): Uint8Array => {
  const from = random.below(2) === 0 ? right : wrong;
  return from[random.below(from.length)];
};

/** Numbers that break things: in binary little- and big-endian, and as text. */
const hostile = [0, 1, 0x7f, 0x80, 0xff, 0x7fff, 0xffff, 0x7fffffff, 0x80000000, 0xee6b2800, 0xffffffff];
const words = [
  '4000000000',
  '-1',
  'nan',
  'inf',
  '1e999',
  '0',
  '1e-400',
  'end_header\n',
  'solid ',
  'f -1 -2 -3\n',
  '\\\n',
  '\r',
  '# ',
];

/** One to three changes: bits turned, bytes replaced, numbers and words written over or put in, pieces lost, doubled or taken from another. */
function mutate(bytes: Uint8Array, random: Random): Uint8Array {
  let file = bytes.slice();
  for (let changes = 1 + random.below(3); changes > 0; changes--) {
    const at = random.below(file.length + 1);
    const length = random.below(Math.min(40, file.length - at) + 1);
    switch (random.below(8)) {
      case 0:
        if (at < file.length) file[at] ^= 1 << random.below(8);
        break;
      case 1:
        if (at < file.length) file[at] = random.below(256);
        break;
      case 2:
        if (at + 4 <= file.length) {
          new DataView(file.buffer).setUint32(at, hostile[random.below(hostile.length)], random.below(2) === 0);
        }
        break;
      case 3: {
        const word = new TextEncoder().encode(words[random.below(words.length)]);
        file = spliced(file, at, random.below(2) === 0 ? word.length : 0, word);
        break;
      }
      case 4:
        file = spliced(file, at, length, new Uint8Array(0));
        break;
      case 5:
        file = spliced(file, at, 0, file.slice(at, at + length));
        break;
      case 6:
        file = file.slice(0, at);
        break;
      default: {
        const other = pick(random);
        const from = random.below(other.length + 1);
        file = spliced(file, at, length, other.slice(from, from + 40));
      }
    }
  }
  return file;
}

function spliced(file: Uint8Array, at: number, drop: number, insert: Uint8Array): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(file.length - Math.min(drop, file.length - at) + insert.length);
  out.set(file.subarray(0, at));
  out.set(insert, at);
  out.set(file.subarray(Math.min(at + drop, file.length)), at + insert.length);
  return out;
}

/** In how many pieces: a stream with and without a size, and the whole. */
async function* pieces(bytes: Uint8Array, size: number) {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

/** Cases a run; FUZZ=100000 for a long one. */
const CASES = Number(process.env.FUZZ ?? 4000);

describe('a file damaged at random', () => {
  it(`is read as a sound scan or refused in words, ${CASES} times`, async () => {
    const random = seededRandom(20_240_611);
    let read = 0;
    for (let i = 0; i < CASES; i++) {
      const bytes = mutate(pick(random), random);
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
