import {
  type Frame,
  type Profile,
  type ProfilePiece,
  profileMeasures,
  type Section,
  type Vec2,
  type Vec3,
} from '@fettle/geom';
import { viewAxes } from '../picture/view.js';
import { fixed } from '../text/number-text.js';
import { type Drawing, type Extent, type Farthest, farthestOf, type Shape } from './drawing.js';
import { profileSizes, saysSomething, type Told, toldByPoints } from './profile-sizes.js';
import type { Sight } from './sight.js';
import { NOTES, sizeText } from './size-text.js';

export interface SectionDrawingOptions {
  /** Its lines and arcs are drawn as outlines and their radii written; the scan's own lines lie narrow below. */
  readonly profiles?: readonly Profile[];
  /**
   * Datum frame: the section is turned, not mirrored, until z points up (of a section across z: y), seen from where its normal
   * points; the frame's origin and axes are drawn. Default: the section's own axes.
   */
  readonly frame?: Frame;
  /** What is known of a size of a profile, first to last. Default: what its points alone say. */
  readonly told?: readonly Told[];
  /** Whether the section's own lines lie narrow, below outlines drawn over them. Default: where there are profiles. */
  readonly narrow?: boolean;
  /** Smallest radius written, mm. Default 0.5. */
  readonly smallestRadius?: number;
}

/**
 * A section: its lines; radii, diameters, widths, depths and angles of profiles with their ±; and how far it reaches over all, in
 * parentheses as sizes for information are (ISO 129-1): from extreme places, which are noise, so to a tenth of a millimeter and without ±.
 */
export function sectionDrawing(section: Section, options: SectionDrawingOptions = {}): Drawing {
  const { profiles = [], told = [], frame, smallestRadius = 0.5, narrow = profiles.length > 0 } = options;
  const turn = frame ? turnTo(section, frame) : unturned;
  const shapes: Shape[] = section.polylines.map(({ flat, closed }) => ({
    kind: 'polyline',
    line: narrow ? 'thin' : 'outline',
    flat: turnedAll(flat, turn),
    closed,
  }));
  if (section.flat) shapes.push(...dots(turnedAll(section.flat, turn)));
  const pieces = profiles.flatMap((profile) => profile.pieces.map((piece) => pieceTurned(piece, turn)));
  const toldOf = (p: number): Told => told[p] ?? toldByPoints;
  shapes.push(...pieces.map(shapeOf));
  for (const piece of pieces)
    if (piece.kind === 'arc' && isFull(piece))
      shapes.push({ kind: 'center-mark', line: 'center', center: piece.center, radius: piece.radius });
  // The lines of the scan reach farther by its noise than the outline does.
  const farthest = farthestOf(pieces.length > 0 ? pieces.map(shapeOf) : withoutSpecks(shapes));
  const around = farthest && extentOfFarthest(farthest);
  const sizes = profiles.map((profile, p) => profileSizes(profile, toldOf(p)));
  const own = sizes.flatMap(({ dimensions }) =>
    dimensions.map((d) => ({
      ...d,
      from: turned(d.from, turn),
      to: turned(d.to, turn),
      ...(around && { around }),
    })),
  );
  const over = farthest ? overAll(farthest).filter((d) => !own.some((o) => isSame(o, d))) : [];
  return {
    shapes,
    dimensions: [...over, ...own],
    labels: profiles
      .flatMap((profile, p) => radii(profile, toldOf(p), turn, smallestRadius))
      .concat(sizes.flatMap(({ labels }) => labels.map((l) => ({ ...l, at: turned(l.at, turn) })))),
    balloons: [],
    datums: [],
    ...(frame && { origin: originIn(section, frame, turn) }),
    notes: [...(profiles.length > 0 ? [NOTES.doubt] : []), ...(over.length > 0 ? [NOTES.over] : [])],
  };
}

type Dimensions = Drawing['dimensions'];

const extentOfFarthest = ({ left, right, low, high }: Farthest): Extent => ({
  min: [left[0], low[1]],
  max: [right[0], high[1]],
});

/** Width and height, from the places farthest out. */
function overAll(farthest: Farthest): Dimensions {
  const { left, right, low, high } = farthest;
  const around = extentOfFarthest(farthest);
  return [
    { from: left, to: right, along: 'x', text: `(${fixed(right[0] - left[0], 1)})`, around },
    { from: low, to: high, along: 'y', text: `(${fixed(high[1] - low[1], 1)})`, around },
  ];
}

/** Whether a dimension runs the same way as an over-all one, over nearly the same length: one is enough. */
function isSame({ from, to }: Dimensions[number], over: Dimensions[number]): boolean {
  const [dx, dy] = [Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1])];
  const [wide, high] = [over.to[0] - over.from[0], over.to[1] - over.from[1]];
  return over.along === 'x' ? Math.hypot(dx - wide, dy) <= 0.005 * wide : Math.hypot(dx, dy - high) <= 0.005 * high;
}

/** Polylines shorter than this share of the longest are specks: drawn, but no part of the over-all sizes. */
const SPECK = 0.02;

function withoutSpecks(shapes: readonly Shape[]): Shape[] {
  const lengths = shapes.map((shape) => (shape.kind === 'polyline' ? wayAround(shape.flat) : Number.POSITIVE_INFINITY));
  const longest = Math.max(0, ...lengths.filter(Number.isFinite));
  return shapes.filter((_, s) => lengths[s]! >= SPECK * longest);
}

function wayAround(flat: Float64Array): number {
  let length = 0;
  for (let i = 2; i < flat.length; i += 2) length += Math.hypot(flat[i]! - flat[i - 2]!, flat[i + 1]! - flat[i - 1]!);
  return length;
}

/** Cosine and sine of the turn of the drawing's x from the section's. */
type Turn = readonly [cos: number, sin: number];
const unturned: Turn = [1, 0];

/** The turn that puts the frame upright on the drawing. */
function turnTo({ plane: { normal }, x, y }: Section, frame: Frame): Turn {
  const { right } = viewAxes({ from: [dot(normal, frame.x), dot(normal, frame.y), dot(normal, frame.z)] });
  const inScan = [0, 1, 2].map((k) => right[0] * frame.x[k]! + right[1] * frame.y[k]! + right[2] * frame.z[k]!);
  const [cos, sin] = [dot(inScan as unknown as Vec3, x), dot(inScan as unknown as Vec3, y)];
  const size = Math.hypot(cos, sin);
  return [cos / size, sin / size];
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const turned = ([x, y]: Vec2, [cos, sin]: Turn): Vec2 => [cos * x + sin * y, cos * y - sin * x];

function turnedAll(flat: Float64Array, [cos, sin]: Turn): Float64Array {
  const out = new Float64Array(flat.length);
  for (let i = 0; i < flat.length; i += 2) {
    out[i] = cos * flat[i]! + sin * flat[i + 1]!;
    out[i + 1] = cos * flat[i + 1]! - sin * flat[i]!;
  }
  return out;
}

/** A piece as far as it is drawn. */
type DrawnPiece = Pick<ProfilePiece, 'start' | 'end'> &
  (
    | { readonly kind: 'line' }
    | { readonly kind: 'arc'; readonly center: Vec2; readonly radius: number; readonly sweep: number }
  );

function pieceTurned(piece: ProfilePiece, turn: Turn): DrawnPiece {
  const ends = { start: turned(piece.start, turn), end: turned(piece.end, turn) };
  if (piece.kind === 'line') return { kind: 'line', ...ends };
  const { center, radius } = piece.shape;
  return { kind: 'arc', ...ends, center: turned(center, turn), radius, sweep: piece.sweep };
}

/** Points of a cloud's section, each a dot. */
function dots(flat: Float64Array): Shape[] {
  return Array.from({ length: flat.length / 2 }, (_, i) => ({
    kind: 'polyline',
    line: 'outline',
    flat: Float64Array.of(flat[2 * i]!, flat[2 * i + 1]!, flat[2 * i]!, flat[2 * i + 1]!),
    closed: false,
  }));
}

const isFull = (piece: DrawnPiece): boolean => piece.kind === 'arc' && Math.abs(piece.sweep) > 2 * Math.PI - 1e-9;

function shapeOf(piece: DrawnPiece): Shape {
  if (piece.kind === 'line')
    return {
      kind: 'polyline',
      line: 'outline',
      flat: Float64Array.of(...piece.start, ...piece.end),
      closed: false,
    };
  const { center, radius } = piece;
  return { kind: 'arc', line: 'outline', center, radius, start: piece.start, sweep: piece.sweep };
}

/** Radii of arcs and diameters of circles, each told outward from its middle. */
function radii(profile: Profile, told: Told, turn: Turn, smallest: number): Drawing['labels'] {
  return profileMeasures(profile).flatMap((measure) => {
    if (measure.kind !== 'radius' || measure.value < smallest) return [];
    const piece = pieceTurned(profile.pieces[measure.pieces[0]!]!, turn);
    if (piece.kind !== 'arc') return [];
    const { center, radius } = piece;
    const value = told(measure);
    if (!saysSomething(value)) return [];
    const middle = Math.atan2(piece.start[1] - center[1], piece.start[0] - center[0]) + piece.sweep / 2;
    const angle = isFull(piece) ? -Math.PI / 6 : middle;
    const prefer: Vec2 = [Math.cos(angle), Math.sin(angle)];
    const { uncertainty } = value;
    const twice = {
      ...value,
      value: 2 * value.value,
      ...(uncertainty !== undefined && { uncertainty: 2 * uncertainty }),
    };
    return [
      {
        at: [center[0] + radius * prefer[0], center[1] + radius * prefer[1]] as const,
        text: isFull(piece) ? sizeText(twice, '⌀') : sizeText(value, 'R'),
        prefer,
        arrow: true,
      },
    ];
  });
}

/** The sight square to a section, with its drawing's axes: where things of the scan lie on the drawing. */
export function sightOfSection(section: Section, frame: Frame | undefined): Sight {
  const { plane, origin, x, y } = section;
  const turn = frame ? turnTo(section, frame) : unturned;
  const flatDirection = (v: Vec3): Vec2 => turned([dot(v, x), dot(v, y)], turn);
  return {
    back: plane.normal,
    flatDirection,
    flat: (p) => flatDirection([p[0] - origin[0], p[1] - origin[1], p[2] - origin[2]]),
  };
}

/** What lies in the section as nearly as this is drawn in it, as a cosine: 0.6°, less than 0.02 mm over 300 mm. */
const IN_PLANE = 1 - 5e-5;

/** The frame's origin laid into the section, and those of its axes that lie in it. */
function originIn({ origin, x, y }: Section, frame: Frame, turn: Turn): NonNullable<Drawing['origin']> {
  const flat = (v: Vec3): Vec2 => turned([dot(v, x), dot(v, y)], turn);
  return {
    at: flat([frame.origin[0] - origin[0], frame.origin[1] - origin[1], frame.origin[2] - origin[2]]),
    axes: (['x', 'y', 'z'] as const).flatMap((name) => {
      const along = flat(frame[name]);
      return Math.hypot(...along) > IN_PLANE ? [{ name, along }] : [];
    }),
  };
}
