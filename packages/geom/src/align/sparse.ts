import { PlaceTable } from '../prepare/place-table.js';
import type { Oriented } from './pair-features.js';
import type { Patches } from './patches.js';

/** Few enough pieces that all their pairs can be looked at: the first of each cube, and of each side it faces there. */
export function sparse({ size, middle, normal, faces }: Patches, side: number): Oriented {
  const table = new PlaceTable(Math.max(1, size));
  const taken: number[] = [];
  for (let i = 0; i < size; i++) {
    const before = table.count;
    const c = table.number(
      Math.floor(middle[3 * i] / side),
      Math.floor(middle[3 * i + 1] / side),
      8 * Math.floor(middle[3 * i + 2] / side) + facing(normal, 3 * i, faces),
    );
    if (c === before) taken.push(i);
  }
  return chosen({ size, middle, normal }, taken);
}

/** The side of cubes that leaves at most `most` pieces. */
export function sparseSide(patches: Patches, most: number): number {
  let side = patches.side;
  while (sparse(patches, side).size > most) side *= 1.15;
  return side;
}

export function chosen({ middle, normal }: Oriented, taken: readonly number[]): Oriented {
  const places = new Float64Array(3 * taken.length);
  const normals = new Float64Array(3 * taken.length);
  taken.forEach((i, k) => {
    places.set(middle.subarray(3 * i, 3 * i + 3), 3 * k);
    normals.set(normal.subarray(3 * i, 3 * i + 3), 3 * k);
  });
  return { size: taken.length, middle: places, normal: normals };
}

/** Every so many-th, so that at most `most` are left. */
export function everyFew(of: Oriented, most: number): Oriented {
  const every = Math.max(1, of.size / most);
  return chosen(
    of,
    Array.from({ length: Math.floor(of.size / every) }, (_, k) => Math.floor(k * every)),
  );
}

function facing(normal: Float64Array, n: number, faces: boolean): number {
  const size = [Math.abs(normal[n]), Math.abs(normal[n + 1]), Math.abs(normal[n + 2])];
  const axis = size[0] >= size[1] && size[0] >= size[2] ? 0 : size[1] >= size[2] ? 1 : 2;
  return 2 * axis + (faces && normal[n + axis] < 0 ? 1 : 0);
}
