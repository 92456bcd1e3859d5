import { pieces, type Scan } from '@fettle/geom';

/** Points of the largest connected piece of a mesh: the part, without floor and strays. Undefined for a cloud or a mesh in one piece. */
export function largestPiece(scan: Scan): Uint32Array | undefined {
  if (!scan.triangles) return undefined;
  const { pieces: found, labels } = pieces(scan);
  if (found.length < 2) return undefined;
  const chosen: number[] = [];
  for (let i = 0; i < labels.length; i++) if (labels[i] === 0) chosen.push(i);
  return Uint32Array.from(chosen);
}
