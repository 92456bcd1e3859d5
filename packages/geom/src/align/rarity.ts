import type { Oriented } from './pair-features.js';

/** Pieces, and how much each tells: shares of 1. */
export interface Rare extends Oriented {
  readonly rarity: Float64Array;
}

/** Normals are alike within 15°. */
const ALIKE = Math.cos((15 * Math.PI) / 180);
/** Normals each is compared with. */
const SAMPLE = 400;

/**
 * Weights by how rare a normal is: a table top of a thousand pieces slides under a mug of a hundred and has most of the scan on the
 * reference in any place; the mug is what tells. (After normal-space sampling, S. Rusinkiewicz & M. Levoy, "Efficient variants of the
 * ICP algorithm", 3DIM 2001.) By the root of the number of pieces alike: by the number itself, single pieces of noise tell as much as
 * a face.
 */
export function withRarity(of: Oriented, faces: boolean): Rare {
  const { size, normal } = of;
  const rarity = new Float64Array(size);
  const every = Math.max(1, size / SAMPLE);
  let total = 0;
  for (let i = 0; i < size; i++) {
    let alike = 1;
    for (let k = 0; k < size; k += every) {
      const j = 3 * Math.floor(k);
      const cos = normal[3 * i] * normal[j] + normal[3 * i + 1] * normal[j + 1] + normal[3 * i + 2] * normal[j + 2];
      if ((faces ? cos : Math.abs(cos)) > ALIKE) alike++;
    }
    rarity[i] = 1 / Math.sqrt(alike);
    total += rarity[i];
  }
  for (let i = 0; i < size; i++) rarity[i] /= total;
  return { ...of, rarity };
}

/** Some of the pieces, each as often as it is rare. */
export function rarest({ size, rarity }: Rare, count: number): number[] {
  const taken: number[] = [];
  let sum = 0;
  for (let i = 0; i < size; i++) {
    sum += rarity[i] * count;
    if (sum < taken.length + 0.5) continue;
    taken.push(i);
  }
  return taken;
}
