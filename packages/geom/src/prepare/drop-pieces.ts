import { FettleError } from '../error.js';
import { cloudPieces } from '../scan/cloud-pieces.js';
import { noPiece, type Piece, pieces } from '../scan/pieces.js';
import type { Scan } from '../scan/scan.js';
import { scanName } from '../scan/scan-name.js';
import { keepMarked, type Prepared } from './prepared.js';

/** The least a piece must have to stay; all that are given must hold. */
export interface PieceLimits {
  /** mm², of a mesh. */
  readonly area?: number;
  /** Of a mesh. */
  readonly triangles?: number;
  /** Of a cloud. */
  readonly points?: number;
  /** Of the area of the largest piece, or of its points in a cloud: 0.01 for a hundredth. */
  readonly share?: number;
  /** How far apart points of a cloud hang together, mm. Default: four times the point spacing. */
  readonly gap?: number;
}

export interface PiecesDropped extends Prepared {
  /** The pieces that stay, and those that went: largest first. */
  readonly keptPieces: readonly Piece[];
  readonly removedPieces: readonly Piece[];
}

/**
 * Drops the connected pieces that are under a limit: specks that float, a cable, the bench. Of a mesh those its triangles make; points
 * no triangle has as a corner are pieces without area and go too. Of a cloud those of points near each other ({@link cloudPieces}).
 *
 * @throws FettleError `prepare-cloud` for an area or a number of triangles of a cloud, `prepare-mesh` for a number of points or a gap
 * of a mesh; `prepare-limit` for no limit or one that is not above 0; `prepare-empty` if no piece holds the limits
 */
export function dropPieces(scan: Scan, limits: PieceLimits): PiecesDropped {
  const { area, triangles, points, share, gap } = limits;
  const isCloud = !scan.triangles;
  if (isCloud && (area !== undefined || triangles !== undefined))
    throw new FettleError(
      'prepare-cloud',
      `${scanName(scan)}: pieces of a cloud have no area and no triangles. Drop them by their points, or by their share of the largest.`,
    );
  if (!isCloud && (points !== undefined || gap !== undefined))
    throw new FettleError(
      'prepare-mesh',
      `${scanName(scan)}: pieces of a mesh hang together by their triangles. Drop them by area, triangles, or share of the largest.`,
    );
  const given = [area, triangles, points, share].filter((limit) => limit !== undefined);
  if (
    given.length === 0 ||
    !given.every((limit) => limit > 0 && limit < Infinity) ||
    (share !== undefined && share > 1)
  )
    throw new FettleError(
      'prepare-limit',
      `${scanName(scan)}: pieces are dropped under ${isCloud ? 'a number of points' : 'an area, a number of triangles, both'} above 0, ` +
        `or a share of the largest above 0 and up to 1; given ${JSON.stringify(limits)}.`,
    );
  const { pieces: all, labels } = isCloud ? cloudPieces(scan, gap) : pieces(scan);
  const size = (piece: Piece): number => (isCloud ? piece.points : piece.area);
  const stays = (piece: Piece): boolean =>
    piece.area >= (area ?? 0) &&
    piece.triangles >= (triangles ?? 0) &&
    piece.points >= (points ?? 0) &&
    size(piece) >= (share ?? 0) * size(all[0]);
  const isKept = Uint8Array.from(all, (piece) => (stays(piece) ? 1 : 0));
  const marks = new Uint8Array(labels.length);
  for (let p = 0; p < labels.length; p++) if (labels[p] !== noPiece) marks[p] = isKept[labels[p]];
  return {
    ...keepMarked(scan, 'dropping pieces', marks),
    keptPieces: all.filter(stays),
    removedPieces: all.filter((piece) => !stays(piece)),
  };
}
