import type { Random } from '@fettle/geom';

/** Numbers that break things: in binary little- and big-endian, and as text. */
const hostile = [0, 1, 0x7f, 0x80, 0xff, 0x7fff, 0xffff, 0x7fffffff, 0x80000000, 0xee6b2800, 0xffffffff];
/** Names that every object of JavaScript has. */
export const names: readonly string[] = ['constructor', '__proto__', 'toString', 'hasOwnProperty'];
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
  ' units ',
  '= ',
  ...names,
];

/** One to `most` changes: bits turned, bytes replaced, numbers and words written over or put in, pieces lost, doubled or taken from another. */
export function damaged(bytes: Uint8Array, random: Random, pick: (random: Random) => Uint8Array, most = 3): Uint8Array {
  let file = bytes.slice();
  for (let changes = 1 + random.below(most); changes > 0; changes--) {
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
