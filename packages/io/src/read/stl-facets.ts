import { startsWith } from './magic.js';

/** Whether a file of this size and beginning is a binary STL by its count. */
export function isStlSize(head: Uint8Array, size: number): boolean {
  if (head.length < 84) return false;
  return size === 84 + 50 * new DataView(head.buffer, head.byteOffset).getUint32(80, true);
}

/** Facets looked at. */
const SAMPLE = 20;

/**
 * Whether a binary STL that ends early, is padded, or comes from a stream is meant: what follows the header must be facets with
 * three corners apart, their coordinates of a size lengths have, their normals unit or zero. Facets of missing points, which are no numbers, say nothing.
 */
export function looksLikeFacets(head: Uint8Array): boolean {
  const view = new DataView(head.buffer, head.byteOffset, head.length);
  const counted = head.length < 84 ? 0 : view.getUint32(80, true);
  // Behind those it counts there may be padding; a count of none says nothing.
  const facets = Math.min(Math.floor((head.length - 84) / 50), SAMPLE, counted || SAMPLE);
  if (facets < 1) return head.length >= 80 && head.length < 134 && startsWith(head, 'solid');
  let sensible = 0;
  let others = 0;
  for (let f = 0; f < facets; f++) {
    const values = Array.from({ length: 12 }, (_, k) => view.getFloat32(84 + 50 * f + 4 * k, true));
    const corners = values.slice(3);
    if (corners.some(Number.isNaN)) continue;
    const [x, y, z] = values;
    const normal = x * x + y * y + z * z;
    const isNormal = Number.isNaN(normal) || normal === 0 || Math.abs(normal - 1) < 0.05;
    const areLengths = corners.every((c) => c === 0 || (Math.abs(c) > 1e-12 && Math.abs(c) < 1e9));
    if (isNormal && areLengths && areApart(corners)) sensible++;
    else others++;
  }
  return sensible > 0 && sensible >= 4 * others;
}

/** Whether no two of three corners are at one place: zeros and other filling are no facets. */
function areApart(corners: readonly number[]): boolean {
  const isSame = (a: number, b: number) => [0, 1, 2].every((k) => corners[a + k] === corners[b + k]);
  return !isSame(0, 3) && !isSame(3, 6) && !isSame(6, 0);
}
