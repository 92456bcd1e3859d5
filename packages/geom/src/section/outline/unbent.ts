import type { Profile } from './pieces.js';

/** Coverage factor of about 95 %. */
const COVERAGE = 2;

/**
 * Places of the arcs whose radius is not told from that of a straight line: the ± of the radius, 95 %, is as large as the radius, so that
 * the bend may be nothing. Pieces picked by hand are what they were picked as.
 */
export const unbentArcs = ({ pieces }: Profile): number[] =>
  pieces.flatMap((piece, k) =>
    piece.kind === 'arc' &&
    piece.byHand === undefined &&
    COVERAGE * Math.sqrt(piece.shape.covariance[8]) >= piece.shape.radius
      ? [k]
      : [],
  );
