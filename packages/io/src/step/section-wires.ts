import {
  FettleError,
  type Polyline,
  type Profile,
  profileOf,
  type Section,
  type Vec2,
  type Vec3,
  vec3,
} from '@fettle/geom';
import type { WirePiece } from './item.js';

const { addScaled, cross, distance } = vec3;

/** A section's outlines, each as one chain or, where a profile has gaps, as several; in scan axes. */
export function sectionWires(section: Section, how: 'profiles' | 'polylines'): WirePiece[][] {
  return section.polylines.flatMap((polyline, index) => {
    const profile = how === 'profiles' ? profileIfAny(section, index) : undefined;
    const chains = profile ? profileChains(profile, section) : [segments(polyline)];
    return chains.filter((chain) => chain.length > 0);
  });
}

/** None of an outline with too few points to tell lines from arcs. */
function profileIfAny(section: Section, index: number): Profile | undefined {
  try {
    return profileOf(section, index);
  } catch (error) {
    if (error instanceof FettleError && error.code === 'profile-too-short') return undefined;
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
  profile.pieces.forEach((piece, i) => {
    const [start, end] = [inSpace(piece.start), inSpace(piece.end)];
    if (piece.kind === 'line' && distance(start, end) > JOINED) chains.at(-1)!.push({ kind: 'line', start, end });
    if (piece.kind === 'arc' && piece.length > JOINED) {
      const { sweep, shape } = piece;
      const way = sweep < 0 ? vec3.negate(normal) : normal;
      const center = inSpace(shape.center);
      chains.at(-1)!.push({ kind: 'arc', start, end, center, normal: way, sweep: Math.abs(sweep) });
    }
    if (profile.joins[i]?.kind === 'gap') chains.push([]);
  });
  // A closed outline may begin in the middle of a chain.
  const closesOn = profile.closed && profile.joins.at(-1)?.kind !== 'gap';
  if (closesOn && chains.length > 1) chains[0] = [...chains.pop()!, ...chains[0]!];
  return chains;
}
