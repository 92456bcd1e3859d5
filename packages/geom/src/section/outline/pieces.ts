import type { Vec2 } from '../../math/vec2.js';
import type { Constraint } from './constraint.js';
import type { Join } from './join.js';
import type { FlatShape } from './shape.js';
import type { Waves } from './waviness.js';

interface PieceBase {
  /** Ends, where it meets its neighbors, in the section's axes, mm. */
  readonly start: Vec2;
  readonly end: Vec2;
  /** Along it, mm. */
  readonly length: number;
  /** First point of the polyline, and one past its last; past the end of a closed polyline, indices run on. */
  readonly from: number;
  readonly to: number;
  /** Of its own points, from the shape as it stands in the profile, mm. */
  readonly rms: number;
  readonly max: number;
  /** Of a piece picked by hand: its place in the list of them. */
  readonly byHand?: number;
}

export interface ProfileLine extends PieceBase {
  readonly kind: 'line';
  readonly shape: Extract<FlatShape, { kind: 'line' }>;
}

export interface ProfileArc extends PieceBase {
  readonly kind: 'arc';
  readonly shape: Extract<FlatShape, { kind: 'arc' }>;
  /** From start to end, radians: counterclockwise positive. */
  readonly sweep: number;
}

export type ProfilePiece = ProfileLine | ProfileArc;

/** A section's outline as a chain of lines and arcs. */
export interface Profile {
  readonly closed: boolean;
  readonly pieces: readonly ProfilePiece[];
  /** Between each piece and the next; of a closed profile the last one leads back to the first piece. */
  readonly joins: readonly Join[];
  /** Noise of the outline across itself, standard deviation, mm; of a wavy outline what is not waves. */
  readonly noise: number;
  /** The noise as the uncertainties count it: with how far neighboring points err together, and no less than a third of the tolerance. */
  readonly sigma: number;
  /** Waves of the surface, or of the scan, in which neighboring points err together; absent where none are to be seen. */
  readonly waves?: Waves;
  /** Constraints that hold exactly, tangencies the data support among them. */
  readonly constraints: readonly Constraint[];
  /** Enclosed area, mm², and its centroid, in the section's axes; of a closed profile without gaps. */
  readonly area?: number;
  readonly centroid?: Vec2;
}
