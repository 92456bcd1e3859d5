import type { Vec2 } from '../../math/vec2.js';
import type { ProfilePiece } from './pieces.js';

/** What a chain of pieces encloses, mm², and its centroid: Green's theorem over chords, and circular segments over them. */
export function enclosed(pieces: readonly ProfilePiece[]): { area: number; centroid: Vec2 } {
  let twice = 0;
  let mx = 0;
  let my = 0;
  // Segments are added about their own centroids; a full circle is its own segment over a chord of no length.
  for (const piece of pieces) {
    const { start: a, end: b } = piece;
    const cross = a[0] * b[1] - a[1] * b[0];
    twice += cross;
    mx += (cross * (a[0] + b[0])) / 6;
    my += (cross * (a[1] + b[1])) / 6;
    if (piece.kind !== 'arc') continue;
    const { center, radius } = piece.shape;
    const s = piece.sweep;
    const segment = (radius * radius * (s - Math.sin(s))) / 2;
    const half = Math.sin(Math.abs(s) / 2);
    const out = segment === 0 ? 0 : (4 * radius * half * half * half) / (3 * Math.abs(s - Math.sin(s)));
    const middle = Math.atan2(a[1] - center[1], a[0] - center[0]) + s / 2;
    twice += 2 * segment;
    mx += segment * (center[0] + out * Math.cos(middle));
    my += segment * (center[1] + out * Math.sin(middle));
  }
  const area = twice / 2;
  return { area: Math.abs(area), centroid: [mx / area, my / area] };
}
