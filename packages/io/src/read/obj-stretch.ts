import { parseObj } from './obj-parse.js';
import { namesAllNormals, type ObjLines, ObjPart } from './obj-part.js';
import { releasable } from './releasable.js';

/** A stretch of an OBJ file's lines that is read, and where it stands in the file. */
export interface ReadyLines extends ObjLines {
  /** Place of its first byte and of the one behind its last. */
  readonly from: number;
  readonly to: number;
}

/** Bytes looked at for the end of a line, where a file is cut into stretches. */
export const LONGEST_LINE = 1 << 16;

/**
 * The place behind the first line end among the bytes from `at` on that ends a statement, or -1. A line feed behind a backslash
 * does not, and a file with carriage returns alone is not cut.
 */
export function statementStart(bytes: Uint8Array, at: number, to: number): number {
  for (let i = at; i < to; i++) {
    if (bytes[i] !== 10) continue;
    const before = bytes[i - 1] === 13 ? i - 2 : i - 1;
    if (before < 0 || bytes[before] !== 92) return i + 1;
  }
  return -1;
}

/**
 * Reads stretches of lines apart from what stands before them: what they hold can be taken where they are reached. Those that
 * cannot be read so are left to whoever reads in order: relative indices, which count back from what came before, and
 * whatever is wrong, which an error has to place.
 */
export class ObjStretches {
  readonly #part = new ObjPart();
  readonly #longest: number;

  /** @param longest stretch to be read, bytes */
  constructor(longest: number) {
    this.#longest = longest;
  }

  /** Reads the whole lines in the first `to` of `bytes`; undefined where they cannot be read apart. */
  read(bytes: Uint8Array, to: number): ObjLines | undefined {
    const part = this.#part;
    part.clear(this.#longest);
    try {
      // A relative index reaches before this.
      parseObj(bytes, to, part, { points: -Infinity, normals: -Infinity, lines: 0 }, (_, what) => new Error(what));
    } catch {
      return undefined;
    }
    const { positions, normals, colorValues, triangles, cornerNormals, polygons, ...counts } = part;
    const namesOwn = part.normalsMatch && namesAllNormals(part);
    return {
      ...counts,
      positions: copy(Float64Array, positions, 3 * part.points),
      normals: copy(Float32Array, normals, 3 * part.normalCount),
      colorValues: copy(Float32Array, colorValues, part.colors),
      triangles: copy(Uint32Array, triangles, part.corners),
      // Where each corner names the normal of its point's number, the triangles say it all.
      cornerNormals: copy(Uint32Array, cornerNormals, namesOwn ? 0 : part.cornerPairs),
      polygons: copy(Uint32Array, polygons, part.polygonValues),
    };
  }
}

/** The first values as an array of its own, whose memory can be given back. */
function copy<A extends Float64Array | Float32Array | Uint32Array>(
  type: Parameters<typeof releasable<A>>[0],
  from: ArrayLike<number> & { subarray(a: number, b: number): ArrayLike<number> },
  length: number,
): A {
  const to = releasable(type, length);
  to.set(from.subarray(0, length));
  return to;
}
