/**
 * Reads one file in a process of its own, so that memory is this reader's alone:
 *
 *   node read-child.mjs fettle|unmerged|three|touch|file PATH
 *
 * Prints { ms, peak, arrays }: time, the process's peak resident memory in bytes, and bytes of the finished arrays.
 */
import { closeSync, openSync, readFileSync, readSync } from 'node:fs';

const [, , how, path] = process.argv;

const ways = {
  /** This library. */
  fettle: () => reading({}),
  /** This library, every corner of an STL a point. */
  unmerged: () => reading({ merge: false }),
  /** three's loader for the format. */
  async three() {
    const format = path.slice(path.lastIndexOf('.') + 1).toUpperCase();
    const { [`${format}Loader`]: Loader } = await import(`three/examples/jsm/loaders/${format}Loader.js`);
    return () => {
      const bytes = readFileSync(path);
      new Loader().parse(format === 'OBJ' ? bytes.toString('latin1') : bytes.buffer);
      return 0;
    };
  },
  /** A loop that touches every byte, in pieces through one buffer. */
  touch() {
    return () => {
      const piece = new Uint8Array(1 << 20);
      const file = openSync(path, 'r');
      let sum = 0;
      for (;;) {
        const n = readSync(file, piece, 0, piece.length, null);
        if (n === 0) break;
        for (let i = 0; i < n; i++) sum = (sum + piece[i]) | 0;
      }
      closeSync(file);
      if (sum === 0.5) throw new Error('the sum is of use');
      return 0;
    };
  },
  /** The file into memory, and no more. */
  file() {
    return () => readFileSync(path).length;
  },
};

async function reading(options) {
  const { openScan } = await import('@fettle/io/node');
  return async () => {
    const { positions, triangles, normals } = await openScan(path, options);
    return [positions, triangles, normals].reduce((sum, array) => sum + (array?.byteLength ?? 0), 0);
  };
}

const read = await ways[how]();
const start = performance.now();
const arrays = await read();
const ms = performance.now() - start;
process.stdout.write(JSON.stringify({ ms, peak: process.resourceUsage().maxRSS * 1024, arrays }));
