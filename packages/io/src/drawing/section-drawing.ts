import type { Frame, Profile, ProfilePiece, Section, Vec2, Vec3 } from '@fettle/geom';
import { fixed } from '../report/number-text.js';
import { type Drawing, extentOf, type Shape } from './drawing.js';

export interface SectionDrawingOptions {
  /** Its lines and arcs are drawn as outlines and their radii written; the scan's own lines lie narrow below. */
  readonly profiles?: readonly Profile[];
  /** Datum frame: its origin and axes are drawn where they lie in the section. */
  readonly frame?: Frame;
  /** Decimals of sizes. Default 2. */
  readonly decimals?: number;
  /** Smallest radius written, mm. Default 0.5. */
  readonly smallestRadius?: number;
}

/** A section in its own axes: its lines, over-all sizes, and radii and diameters of profiles. */
export function sectionDrawing(section: Section, options: SectionDrawingOptions = {}): Drawing {
  const { profiles = [], frame, decimals = 2, smallestRadius = 0.5 } = options;
  const shapes: Shape[] = section.polylines.map(({ flat, closed }) => ({
    kind: 'polyline',
    line: profiles.length > 0 ? 'thin' : 'outline',
    flat,
    closed,
  }));
  if (section.flat) shapes.push(...dots(section.flat));
  const pieces = profiles.flatMap((profile) => profile.pieces);
  shapes.push(...pieces.map(shapeOf));
  for (const piece of pieces)
    if (piece.kind === 'arc' && isFull(piece))
      shapes.push({ kind: 'center-mark', line: 'center', center: piece.shape.center, radius: piece.shape.radius });
  const extent = extentOf({ shapes });
  return {
    shapes,
    dimensions: extent
      ? [
          {
            from: extent.min,
            to: [extent.max[0], extent.min[1]],
            text: fixed(extent.max[0] - extent.min[0], decimals),
          },
          {
            from: extent.min,
            to: [extent.min[0], extent.max[1]],
            text: fixed(extent.max[1] - extent.min[1], decimals),
          },
        ]
      : [],
    labels: pieces.flatMap((piece) =>
      piece.kind === 'arc' && piece.shape.radius >= smallestRadius ? [labelOf(piece, decimals)] : [],
    ),
    balloons: [],
    datums: [],
    ...(frame && { origin: originIn(section, frame) }),
  };
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

const isFull = (piece: ProfilePiece): boolean => piece.kind === 'arc' && Math.abs(piece.sweep) > 2 * Math.PI - 1e-9;

function shapeOf(piece: ProfilePiece): Shape {
  if (piece.kind === 'line')
    return {
      kind: 'polyline',
      line: 'outline',
      flat: Float64Array.of(...piece.start, ...piece.end),
      closed: false,
    };
  const { center, radius } = piece.shape;
  return { kind: 'arc', line: 'outline', center, radius, start: piece.start, sweep: piece.sweep };
}

function labelOf(piece: Extract<ProfilePiece, { kind: 'arc' }>, decimals: number): Drawing['labels'][number] {
  const { center, radius } = piece.shape;
  if (isFull(piece)) return { at: [center[0] + radius, center[1]], text: `⌀ ${fixed(2 * radius, decimals)}` };
  const angle = Math.atan2(piece.start[1] - center[1], piece.start[0] - center[0]) + piece.sweep / 2;
  const prefer: Vec2 = [Math.cos(angle), Math.sin(angle)];
  return {
    at: [center[0] + radius * prefer[0], center[1] + radius * prefer[1]],
    text: `R ${fixed(radius, decimals)}`,
    prefer,
  };
}

/** The frame's origin laid into the section, and those of its axes that lie in it to a hundredth of a degree. */
function originIn({ origin, x, y }: Section, frame: Frame): NonNullable<Drawing['origin']> {
  const along = (v: Vec3, axis: Vec3): number => v[0] * axis[0] + v[1] * axis[1] + v[2] * axis[2];
  const off: Vec3 = [frame.origin[0] - origin[0], frame.origin[1] - origin[1], frame.origin[2] - origin[2]];
  return {
    at: [along(off, x), along(off, y)],
    axes: (['x', 'y', 'z'] as const).flatMap((name) => {
      const flat: Vec2 = [along(frame[name], x), along(frame[name], y)];
      return Math.hypot(...flat) > 1 - 1.5e-8 ? [{ name, along: flat }] : [];
    }),
  };
}
