import type { Vec2 } from '../math/vec2.js';
import { addScaled } from '../math/vec3.js';
import type { ProfilePiece } from '../section/outline/pieces.js';
import type { Section } from '../section/section.js';
import type { StepOutcome } from './step/outcome.js';

type Triple = readonly [number, number, number];

/** A profile in scan axes, mm and radians. */
export interface ProfileJson {
  readonly id: string;
  readonly closed: boolean;
  /** In the order the job sheet numbers them. */
  readonly pieces: readonly ProfilePieceJson[];
  /** Noise of the outline across itself, standard deviation. */
  readonly noise: number;
  /** Waves that the uncertainties allow for: standard deviation, and Matérn's length over which they keep alike, mm. */
  readonly waves?: { readonly height: number; readonly length: number };
  /** What holds exactly, by the numbers of the pieces, from 1. */
  readonly constraints: readonly { readonly kind: string; readonly pieces: readonly number[] }[];
  /** Enclosed, mm², and its centroid; of a closed profile without gaps. */
  readonly area?: number;
  readonly centroid?: Triple;
}

/** A line, or an arc with its center and radius and how far it turns, counterclockwise about the section's normal positive. */
export interface ProfilePieceJson {
  readonly kind: 'line' | 'arc';
  readonly start: Triple;
  readonly end: Triple;
  readonly center?: Triple;
  readonly radius?: number;
  readonly sweep?: number;
  readonly rms: number;
  readonly max: number;
}

export function profileJson(outcome: StepOutcome): ProfileJson[] {
  if (outcome.kind !== 'section' || !outcome.profile) return [];
  const { id, section } = outcome;
  const { profile, order } = outcome.profile;
  const { closed, noise, waves, area, centroid } = profile;
  return [
    {
      id,
      closed,
      pieces: order.map((k) => pieceJson(profile.pieces[k], section)),
      noise,
      ...(waves && { waves: { height: waves.height, length: waves.length } }),
      constraints: profile.constraints.map(({ kind, pieces }) => ({
        kind,
        pieces: pieces.map((k) => order.indexOf(k) + 1),
      })),
      ...(area !== undefined && { area }),
      ...(centroid && { centroid: inSpace(centroid, section) }),
    },
  ];
}

function pieceJson(piece: ProfilePiece, section: Section): ProfilePieceJson {
  const { kind, start, end, rms, max } = piece;
  const ends = { kind, start: inSpace(start, section), end: inSpace(end, section) };
  if (piece.kind === 'line') return { ...ends, rms, max };
  const { center, radius } = piece.shape;
  return { ...ends, center: inSpace(center, section), radius, sweep: piece.sweep, rms, max };
}

const inSpace = ([a, b]: Vec2, { origin, x, y }: Section): Triple => addScaled(addScaled(origin, x, a), y, b);
