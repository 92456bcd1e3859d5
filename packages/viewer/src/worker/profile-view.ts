import {
  FettleError,
  type Profile,
  type ProfilePiece,
  type Section,
  type SheetValue,
  type StepOutcome,
  type Vec3,
  vec3,
} from '@fettle/geom';
import { toldByPoints } from '@fettle/io';
import { nextTurn } from './latest.js';
import type { ProfileFinder } from './profile-finder.js';
import type { CornerView, PieceView, ProfileView } from './protocol.js';

type Vec2 = readonly [number, number];

type SectionOutcome = Extract<StepOutcome, { kind: 'section' }>;

/** A full circle's own shape of piece. */
const isFull = (piece: ProfilePiece): boolean => piece.kind === 'arc' && Math.abs(piece.sweep) > 2 * Math.PI - 1e-9;

/** Degrees of an arc to each of the straight bits it is drawn with. */
const BIT = (3 * Math.PI) / 180;

/** One outline of a section as lines and arcs. */
type OutlineView = Pick<ProfileView, 'pieces' | 'corners'>;

const viewOf = (section: Section, index: number, profile: Profile): OutlineView => ({
  pieces: profile.pieces.map((piece) => pieceView(section, index, piece, profile)),
  corners: cornersOf(section, profile),
});

/**
 * The outlines of a section as lines and arcs.
 *
 * @param find finds those of one outline; where it was stopped, as for another section, the whole is moot
 * @throws FettleError as `profileOf` does, where no outline is long enough
 */
export async function profileView(
  { section, profile: asked }: SectionOutcome,
  tolerance: number | undefined,
  find: ProfileFinder['find'],
  isWanted = () => true,
): Promise<ProfileView> {
  const pieces: PieceView[] = [];
  const corners: CornerView[] = [];
  let refusal: FettleError | undefined;
  for (const index of section.polylines.keys()) {
    await nextTurn();
    if (!isWanted()) return { pieces: [], corners: [], moot: true };
    try {
      const own = asked?.polyline === index ? asked : undefined;
      const found = viewOf(
        section,
        index,
        own?.profile ?? (await find(section, index, tolerance === undefined ? {} : { tolerance })),
      );
      pieces.push(...found.pieces.map((piece, k) => ({ ...(own && { number: own.order.indexOf(k) + 1 }), ...piece })));
      corners.push(...found.corners);
    } catch (error) {
      if (!isWanted()) return { pieces: [], corners: [], moot: true };
      if (!(error instanceof FettleError && error.code === 'profile-too-short')) throw error;
      refusal = error;
    }
  }
  if (pieces.length === 0 && refusal) throw refusal;
  return { pieces, corners };
}

function pieceView(section: Section, polyline: number, piece: ProfilePiece, { pieces }: Profile): PieceView {
  const { points, closed } = section.polylines[polyline]!;
  const n = points.length / 3;
  const pointAt = (i: number): Vec3 => {
    const p = 3 * (i % n);
    return [points[p]!, points[p + 1]!, points[p + 2]!];
  };
  const around = wayAlong(points, 0, closed ? n : n - 1);
  return {
    kind: piece.kind,
    polyline,
    isWhole: pieces.length === 1 && isFull(piece),
    start: inSpace(section, piece.start),
    end: inSpace(section, piece.end),
    first: pointAt(piece.from),
    last: pointAt(piece.to - 1),
    isLongWay: closed && wayAlong(points, piece.from, piece.to - 1) > around / 2,
    line: drawn(section, piece),
    length: piece.length,
    ...(piece.kind === 'arc' && {
      center: inSpace(section, piece.shape.center),
      radius: piece.shape.radius,
      size: arcSize(piece.shape, pieces.length === 1 && isFull(piece)),
    }),
    rms: piece.rms,
    max: piece.max,
  };
}

function arcSize({ radius, covariance }: { radius: number; covariance: Float64Array }, isWhole: boolean): SheetValue {
  const times = isWhole ? 2 : 1;
  return toldByPoints({
    kind: 'radius',
    value: times * radius,
    standard: times * Math.sqrt(covariance[8]!),
  });
}

/** From one point of a line to a later one, whose number may run past the end, mm. */
function wayAlong(points: Float64Array, from: number, to: number): number {
  const n = points.length / 3;
  let way = 0;
  for (let i = from; i < to; i++) {
    const [a, b] = [3 * (i % n), 3 * ((i + 1) % n)];
    way += Math.hypot(points[b]! - points[a]!, points[b + 1]! - points[a + 1]!, points[b + 2]! - points[a + 2]!);
  }
  return way;
}

const inSpace = ({ origin, x, y }: Section, [u, v]: Vec2): Vec3 => vec3.addScaled(vec3.addScaled(origin, x, u), y, v);

function drawn(section: Section, piece: ProfilePiece): Float64Array {
  if (piece.kind === 'line') return Float64Array.of(...inSpace(section, piece.start), ...inSpace(section, piece.end));
  const { center, radius } = piece.shape;
  const begin = Math.atan2(piece.start[1] - center[1], piece.start[0] - center[0]);
  const bits = Math.max(2, Math.ceil(Math.abs(piece.sweep) / BIT));
  const line = new Float64Array(3 * (bits + 1));
  for (let i = 0; i <= bits; i++) {
    const turn = begin + (piece.sweep * i) / bits;
    line.set(inSpace(section, [center[0] + radius * Math.cos(turn), center[1] + radius * Math.sin(turn)]), 3 * i);
  }
  return line;
}

/** Where line meets line. */
function cornersOf(section: Section, { pieces, joins }: Profile): CornerView[] {
  return joins.flatMap((join, k) => {
    const [a, b] = [pieces[k], pieces[(k + 1) % pieces.length]];
    if (join.kind !== 'corner' || a?.kind !== 'line' || b?.kind !== 'line' || a === b) return [];
    const at = inSpace(section, join.at);
    const [back, on] = [a.start, b.end].map((end) => vec3.subtract(inSpace(section, end), at)) as [Vec3, Vec3];
    if (vec3.length(back) === 0 || vec3.length(on) === 0) return [];
    const along = [vec3.normalize(back), vec3.normalize(on)] as const;
    const angle = Math.PI - Math.abs(join.turn);
    const size = toldByPoints({ kind: 'angle', value: angle, standard: join.turnUncertainty });
    return [{ at, along, angle, size }];
  });
}
