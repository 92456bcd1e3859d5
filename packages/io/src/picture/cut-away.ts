import type { Plane, Polyline, Scan, Vec2, Vec3 } from '@fettle/geom';
import type { Camera } from './camera.js';
import type { Canvas } from './canvas.js';
import { INK, PAPER } from './tint.js';

/** A scan cut open: what the plane's normal points to is taken away, the lines of the cut are drawn. */
export interface CutAway {
  readonly plane: Plane;
  readonly lines: readonly Pick<Polyline, 'points' | 'closed'>[];
}

/** How far a place lies before a plane, mm. */
export const heightOver = (place: Vec3, { point, normal }: Plane): number =>
  normal.reduce((sum, n, k) => sum + n * (place[k]! - point[k]!), 0);

/** How far each point of a scan lies before a plane, mm. */
export function heightsOver({ positions }: Scan, { point, normal }: Plane): Float32Array {
  const [nx, ny, nz] = normal;
  const at = nx * point[0] + ny * point[1] + nz * point[2];
  const heights = new Float32Array(positions.length / 3);
  for (let i = 0, p = 0; i < heights.length; i++, p += 3)
    heights[i] = nx * positions[p]! + ny * positions[p + 1]! + nz * positions[p + 2]! - at;
  return heights;
}

/** Pixels of the line of a cut, and of the paper about it, so that it shows on dark and light. */
const PEN = 2.2;
const HALO = 5.5;

/** Draws the lines of a cut: no part of the scan is before them. */
export function drawCut(canvas: Canvas, { lines }: CutAway, camera: Camera): void {
  const drawn = lines.map(({ points, closed }) => thinned(points, closed, camera));
  for (const [width, color] of [
    [HALO, PAPER],
    [PEN, INK],
  ] as const)
    for (const line of drawn) for (let i = 1; i < line.length; i++) canvas.stroke(line[i - 1]!, line[i]!, width, color);
}

/** A line on the picture, its points a pixel apart or more. */
function thinned(points: Float64Array, closed: boolean, camera: Camera): Vec2[] {
  const line: Vec2[] = [];
  const count = points.length / 3;
  const pixelOf = (i: number): Vec2 => camera.toPicture([points[3 * i]!, points[3 * i + 1]!, points[3 * i + 2]!]);
  for (let i = 0; i < count; i++) {
    const here = pixelOf(i);
    const last = line[line.length - 1];
    if (last === undefined || i === count - 1 || Math.hypot(here[0] - last[0], here[1] - last[1]) >= 1) line.push(here);
  }
  if (closed && count > 0) line.push(pixelOf(0));
  return line;
}
