import { noPiece, pieces, type Scan } from '@fettle/geom';
import type { TintedRegion } from './shade.js';

/**
 * What a picture of measured features is best framed about: the largest connected piece of a mesh and the pieces measured, without floor
 * and strays. Undefined for a cloud or a mesh in one piece.
 */
export function pictureFocus(scan: Scan, measured: readonly TintedRegion[]): Uint32Array | undefined {
  if (!scan.triangles) return undefined;
  const { pieces: found, labels } = pieces(scan);
  if (found.length < 2) return undefined;
  const kept = new Set([0]);
  for (const { select } of measured) for (let i = 0; i < select.length; i++) kept.add(labels[select[i]!]!);
  kept.delete(noPiece);
  const chosen: number[] = [];
  for (let i = 0; i < labels.length; i++) if (kept.has(labels[i]!)) chosen.push(i);
  return Uint32Array.from(chosen);
}
