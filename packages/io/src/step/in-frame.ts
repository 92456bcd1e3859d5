import { type Feature, type Frame, type Vec3, vec3 } from '@fettle/geom';
import type { WirePiece } from './item.js';

const { dot } = vec3;

/** A direction of the scan, in the axes of a frame. */
export const directionIn = (d: Vec3, { x, y, z }: Frame): Vec3 => [dot(x, d), dot(y, d), dot(z, d)];

/** Points of the scan, all or those chosen, in a frame: xyz xyz …, mm. */
export function placesIn(positions: Float64Array, frame: Frame, select?: Uint32Array): Float64Array {
  const { x, y, z, origin } = frame;
  const count = select ? select.length : positions.length / 3;
  const out = new Float64Array(3 * count);
  for (let k = 0; k < count; k++) {
    const i = 3 * (select ? select[k]! : k);
    const dx = positions[i]! - origin[0];
    const dy = positions[i + 1]! - origin[1];
    const dz = positions[i + 2]! - origin[2];
    out[3 * k] = x[0] * dx + x[1] * dy + x[2] * dz;
    out[3 * k + 1] = y[0] * dx + y[1] * dy + y[2] * dz;
    out[3 * k + 2] = z[0] * dx + z[1] * dy + z[2] * dz;
  }
  return out;
}

/** A feature of the scan, in a frame. */
export function featureIn(feature: Feature, frame: Frame): Feature {
  const place = (p: Vec3) => frame.toFrame(p);
  const way = (d: Vec3) => directionIn(d, frame);
  switch (feature.kind) {
    case 'plane':
      return { ...feature, point: place(feature.point), normal: way(feature.normal) };
    case 'line':
    case 'cylinder':
      return { ...feature, point: place(feature.point), direction: way(feature.direction) };
    case 'cone':
      return { ...feature, apex: place(feature.apex), direction: way(feature.direction) };
    case 'point':
      return { ...feature, position: place(feature.position) };
    case 'sphere':
      return { ...feature, center: place(feature.center) };
    case 'circle':
      return { ...feature, center: place(feature.center), normal: way(feature.normal) };
    case 'slot':
    case 'ellipse': {
      const { center, normal, direction } = feature;
      return { ...feature, center: place(center), normal: way(normal), direction: way(direction) };
    }
  }
}

export function pieceIn(piece: WirePiece, frame: Frame): WirePiece {
  const [start, end] = [frame.toFrame(piece.start), frame.toFrame(piece.end)];
  if (piece.kind === 'line') return { kind: 'line', start, end };
  return { ...piece, start, end, center: frame.toFrame(piece.center), normal: directionIn(piece.normal, frame) };
}
