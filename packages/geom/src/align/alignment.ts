import type { Warning } from '../error.js';
import { FettleError } from '../error.js';
import type { Uncertainty } from '../feature/uncertainty.js';
import type { Vec3 } from '../math/vec3.js';
import type { WeaklyHeld } from './move-uncertainty.js';
import { carried, inverse, type Rigid } from './rigid.js';

/** A rigid move of a scan onto a reference. */
export interface Move {
  toReference(p: Vec3): Vec3;
  toScan(p: Vec3): Vec3;
  /** Scan to reference, column-major 4×4. */
  readonly matrix: Float64Array;
}

/** Another pose that explains the scan nearly as well. */
export interface Rival {
  readonly move: Move;
  /** As `share` of an alignment. */
  readonly share: number;
}

/** How a scan lies on a reference. */
export interface Alignment {
  readonly move: Move;
  /** Share of the scan that lies on the reference, 0 to 1. */
  readonly share: number;
  /** Root mean square distance there, mm. */
  readonly rms: number;
  /** Of the move: shifts along and turns about the axes of the reference. */
  readonly uncertainty: Uncertainty;
  /** Ways along which the move is weakly held, worst first: a flat plate slides. */
  readonly weak: readonly WeaklyHeld[];
  /** Poses that `near` chose this one from. */
  readonly rivals: readonly Rival[];
  /** Whether the scan lay there already, so that no other pose was looked for. */
  readonly inPlace: boolean;
  readonly converged: boolean;
  readonly warnings: readonly Warning[];
}

/** Why a scan could not be laid on a reference: `no-alignment` or `ambiguous-alignment`. */
export class AlignmentError extends FettleError {
  /** The best share found. */
  readonly share: number;
  /** Of `ambiguous-alignment`: the poses that explain the scan alike, best first. */
  readonly rivals: readonly Rival[];
  /** Of `ambiguous-alignment`: moves of the reference's axes that leave the scan lying on it, as small ones; empty where none does. */
  readonly free: readonly { readonly shift: Vec3; readonly turn: Vec3; readonly at: Vec3 }[];
  /** The scale at which the scan would fit, if there is one. */
  readonly scale?: number;

  constructor(
    code: 'no-alignment' | 'ambiguous-alignment',
    message: string,
    found: Partial<Pick<AlignmentError, 'share' | 'rivals' | 'free' | 'scale'>> = {},
  ) {
    super(code, message);
    this.share = found.share ?? 0;
    this.rivals = found.rivals ?? [];
    this.free = found.free ?? [];
    if (found.scale !== undefined) this.scale = found.scale;
  }
}

export function moveOfRigid(motion: Rigid): Move {
  const back = inverse(motion);
  const { r, t } = motion;
  return Object.freeze({
    toReference: (p: Vec3): Vec3 => carried(motion, p),
    toScan: (p: Vec3): Vec3 => carried(back, p),
    // biome-ignore format: one column of the matrix a line
    matrix: Float64Array.of(
      r[0], r[3], r[6], 0,
      r[1], r[4], r[7], 0,
      r[2], r[5], r[8], 0,
      t[0], t[1], t[2], 1,
    ),
  });
}
