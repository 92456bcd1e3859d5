import { pointSpacing, type Scan, type Vec3 } from '@fettle/geom';
import type { Camera } from './camera.js';

/** What of a scan is seen where: for each small pixel the triangle (of a mesh) or point (of a cloud) in front. */
export interface Visible {
  readonly width: number;
  readonly height: number;
  /** Index of the triangle or point, plus 1; 0 for none. */
  readonly owner: Uint32Array;
  /** mm toward the eye; meaningless where there is none. */
  readonly depth: Float32Array;
  /** Of each point of the scan: small pixels from the left, from the top, mm toward the eye. */
  readonly x: Float32Array;
  readonly y: Float32Array;
  readonly z: Float32Array;
}

/**
 * Finds what is in front by a depth buffer, `samples` × `samples` small pixels a pixel of the picture. Points of a cloud are squares
 * a little wider than the points are apart.
 *
 * @param heights of the points over the plane the scan is cut open at, mm: what lies wholly over it is not there
 */
export function visibleParts(scan: Scan, camera: Camera, samples: number, heights?: Float32Array): Visible {
  const width = camera.size.width * samples;
  const height = camera.size.height * samples;
  const projected = projectAll(scan, camera, samples);
  const visible: Visible = {
    width,
    height,
    owner: new Uint32Array(width * height),
    depth: new Float32Array(width * height).fill(Number.NEGATIVE_INFINITY),
    ...projected,
  };
  if (scan.triangles) fillTriangles(scan.triangles, visible, heights);
  else fillPoints(Math.max(1.5, 0.75 * pointSpacing(scan) * camera.scale * samples), visible, heights);
  return visible;
}

function projectAll({ positions }: Scan, camera: Camera, samples: number) {
  const count = positions.length / 3;
  const [x, y, z] = [new Float32Array(count), new Float32Array(count), new Float32Array(count)];
  const origin: Vec3 = [0, 0, 0];
  const [ox, oy] = camera.toPicture(origin);
  const s = camera.scale * samples;
  const [rx, ry, rz] = camera.right;
  const [ux, uy, uz] = camera.up;
  const [bx, by, bz] = camera.back;
  for (let i = 0, p = 0; i < count; i++, p += 3) {
    const px = positions[p]!;
    const py = positions[p + 1]!;
    const pz = positions[p + 2]!;
    x[i] = ox * samples + s * (px * rx + py * ry + pz * rz);
    y[i] = oy * samples - s * (px * ux + py * uy + pz * uz);
    z[i] = px * bx + py * by + pz * bz;
  }
  return { x, y, z };
}

function fillTriangles(
  triangles: Uint32Array,
  { x, y, z, width, height, owner, depth }: Visible,
  heights: Float32Array | undefined,
): void {
  for (let t = 0; t < triangles.length; t += 3) {
    const a = triangles[t]!;
    const b = triangles[t + 1]!;
    const c = triangles[t + 2]!;
    if (heights && heights[a]! > 0 && heights[b]! > 0 && heights[c]! > 0) continue;
    const ax = x[a]!;
    const bx = x[b]!;
    const cx = x[c]!;
    const ay = y[a]!;
    const by = y[b]!;
    const cy = y[c]!;
    const area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
    if (area === 0) continue;
    const left = Math.max(0, Math.floor(Math.min(ax, bx, cx) - 0.5));
    const right = Math.min(width - 1, Math.floor(Math.max(ax, bx, cx)));
    const top = Math.max(0, Math.floor(Math.min(ay, by, cy) - 0.5));
    const bottom = Math.min(height - 1, Math.floor(Math.max(ay, by, cy)));
    if (left > right || top > bottom) continue;
    const inverse = 1 / area;
    // Weights of b and c, and depth, as they change from one pixel to the next.
    const bAcross = (cy - ay) * inverse;
    const bDown = (ax - cx) * inverse;
    const cAcross = (ay - by) * inverse;
    const cDown = (bx - ax) * inverse;
    const za = z[a]!;
    const zb = z[b]! - za;
    const zc = z[c]! - za;
    for (let py = top; py <= bottom; py++) {
      const dx = left + 0.5 - ax;
      const dy = py + 0.5 - ay;
      let wb = dx * bAcross + dy * bDown;
      let wc = dx * cAcross + dy * cDown;
      for (let px = left, at = py * width + left; px <= right; px++, at++, wb += bAcross, wc += cAcross) {
        // Edges belong to both triangles: a hair of overlap, no cracks.
        if (wb < -1e-6 || wc < -1e-6 || wb + wc > 1.000001) continue;
        const toward = za + wb * zb + wc * zc;
        if (toward <= depth[at]!) continue;
        depth[at] = toward;
        owner[at] = t / 3 + 1;
      }
    }
  }
}

function fillPoints(
  reach: number,
  { x, y, z, width, height, owner, depth }: Visible,
  heights: Float32Array | undefined,
): void {
  for (let i = 0; i < x.length; i++) {
    if (heights && heights[i]! > 0) continue;
    const left = Math.max(0, Math.round(x[i]! - reach));
    const right = Math.min(width - 1, Math.round(x[i]! + reach) - 1);
    const top = Math.max(0, Math.round(y[i]! - reach));
    const bottom = Math.min(height - 1, Math.round(y[i]! + reach) - 1);
    for (let py = top; py <= bottom; py++)
      for (let px = left, at = py * width + left; px <= right; px++, at++) {
        if (z[i]! <= depth[at]!) continue;
        depth[at] = z[i]!;
        owner[at] = i + 1;
      }
  }
}

/** Whether a point at a small pixel is in front there, or no more than `slack` mm behind what is. */
export function isInFront(
  { width, height, depth, owner }: Visible,
  x: number,
  y: number,
  z: number,
  slack: number,
): boolean {
  const px = Math.floor(x);
  const py = Math.floor(y);
  if (px < 0 || py < 0 || px >= width || py >= height) return false;
  const at = py * width + px;
  return owner[at] === 0 || z >= depth[at]! - slack;
}
