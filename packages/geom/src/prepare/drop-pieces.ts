import { FettleError } from '../error.js';
import { noPiece, type Piece, pieces } from '../scan/pieces.js';
import type { Scan } from '../scan/scan.js';
import { keepMarked, type Prepared } from './prepared.js';

/** The least a piece must have to stay; all that are given must hold. */
export interface PieceLimits {
  /** mm² */
  readonly area?: number;
  readonly triangles?: number;
  /** Of the area of the largest piece: 0.01 for a hundredth. */
  readonly share?: number;
}

export interface PiecesDropped extends Prepared {
  /** The pieces that stay, and those that went: largest area first. */
  readonly keptPieces: readonly Piece[];
  readonly removedPieces: readonly Piece[];
}

/**
 * Drops the connected pieces of a mesh that are under a limit: specks that float, a cable, the bench. Points no triangle
 * has as a corner are pieces without area and go too.
 *
 * @throws FettleError `prepare-cloud` for a cloud, which has no pieces; `prepare-limit` for no limit or one that is not above 0;
 * `prepare-empty` if no piece holds the limits
 */
export function dropPieces(scan: Scan, limits: PieceLimits): PiecesDropped {
  if (!scan.triangles)
    throw new FettleError(
      'prepare-cloud',
      `${scan.name}: a cloud has no connected pieces. Drop its stray points by the distance of their neighbors.`,
    );
  const { area, triangles, share } = limits;
  const given = [area, triangles, share].filter((limit) => limit !== undefined);
  if (
    given.length === 0 ||
    !given.every((limit) => limit > 0 && limit < Infinity) ||
    (share !== undefined && share > 1)
  )
    throw new FettleError(
      'prepare-limit',
      `${scan.name}: pieces are dropped under an area, a number of triangles, both above 0, or a share of the largest ` +
        `above 0 and up to 1; given ${JSON.stringify(limits)}.`,
    );
  const { pieces: all, labels } = pieces(scan);
  const stays = ({ area: a, triangles: count }: Piece): boolean =>
    a >= (area ?? 0) && count >= (triangles ?? 0) && a >= (share ?? 0) * all[0].area;
  const isKept = Uint8Array.from(all, (piece) => (stays(piece) ? 1 : 0));
  const marks = new Uint8Array(labels.length);
  for (let p = 0; p < labels.length; p++) if (labels[p] !== noPiece) marks[p] = isKept[labels[p]];
  return {
    ...keepMarked(scan, 'dropping pieces', marks),
    keptPieces: all.filter(stays),
    removedPieces: all.filter((piece) => !stays(piece)),
  };
}
