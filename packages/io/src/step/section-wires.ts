import {
  FettleError,
  type Polyline,
  type Profile,
  profileOf,
  type Section,
  type SectionProfile,
  type Vec2,
  type Vec3,
  vec3,
} from '@fettle/geom';
import type { WirePiece } from './item.js';

const { addScaled, cross, distance, negate } = vec3;

/** A section's outlines, each as one chain or, where a profile has gaps, as several; in scan axes. The profile a plan asked for stands. */
export function sectionWires(section: Section, how: 'profiles' | 'polylines', asked?: SectionProfile): WirePiece[][] {
  return section.polylines.flatMap((polyline, index) => {
    const profile = how === 'profiles' ? profileIfAny(section, index, asked) : undefined;
    const chains = profile ? profileChains(profile, section) : [segments(polyline)];
    return chains.filter((chain) => chain.length > 0);
  });
}

/** Why an outline has no profile: it is written as it was cut. */
const profileless: readonly string[] = ['profile-too-short', 'constraints-conflict'];

function profileIfAny(section: Section, index: number, asked: SectionProfile | undefined): Profile | undefined {
  if (asked?.polyline === index) return asked.profile;
  try {
    return profileOf(section, index);
  } catch (error) {
    if (error instanceof FettleError && profileless.includes(error.code)) return undefined;
    throw error;
  }
}

/** Points closer than this are one, mm. */
const JOINED = 1e-6;

function segments({ points, closed }: Polyline): WirePiece[] {
  const count = points.length / 3;
  const at = (i: number): Vec3 => [points[3 * i]!, points[3 * i + 1]!, points[3 * i + 2]!];
  const pieces: WirePiece[] = [];
  let start = at(0);
  for (let i = 1; i < count + (closed ? 1 : 0); i++) {
    const end = at(i % count);
    if (distance(start, end) <= JOINED) continue;
    pieces.push({ kind: 'line', start, end });
    start = end;
  }
  return pieces;
}

function profileChains(profile: Profile, section: Section): WirePiece[][] {
  const y = section.y;
  const normal = cross(section.x, y);
  const inSpace = ([a, b]: Vec2): Vec3 => addScaled(addScaled(section.origin, section.x, a), y, b);
  const chains: WirePiece[][] = [[]];
  const meet = (before: WirePiece | undefined, after: WirePiece | undefined): boolean =>
    before === undefined || after === undefined || distance(before.end, after.start) <= JOINED;
  const put = (piece: WirePiece): void => {
    if (!meet(chains.at(-1)!.at(-1), piece)) chains.push([]);
    chains.at(-1)!.push(piece);
  };
  for (const piece of profile.pieces) {
    const [start, end] = [inSpace(piece.start), inSpace(piece.end)];
    if (piece.length <= JOINED) continue;
    if (piece.kind === 'line') put({ kind: 'line', start, end });
    else {
      const way = piece.sweep < 0 ? negate(normal) : normal;
      put({ kind: 'arc', start, end, center: inSpace(piece.shape.center), normal: way, sweep: Math.abs(piece.sweep) });
    }
  }
  // A closed outline may begin in the middle of a chain.
  if (profile.closed && chains.length > 1 && meet(chains.at(-1)!.at(-1), chains[0]![0]))
    chains[0] = [...chains.pop()!, ...chains[0]!];
  return chains;
}
