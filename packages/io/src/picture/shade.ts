import { cloudNormals, type Mesh, type Scan, type Vec3, vertexNormals } from '@fettle/geom';
import type { Camera } from './camera.js';
import { CASTING, INSIDE, type Rgb } from './tint.js';
import type { Visible } from './visible.js';

/** Points drawn in a color of their own. */
export interface TintedRegion {
  readonly select: Uint32Array;
  readonly tint: Rgb;
}

/** Unit normals of the scan's points: its own where it has them. */
export function pictureNormals(scan: Scan): Float32Array {
  if (scan.normals) return scan.normals;
  return scan.triangles ? vertexNormals(scan as Mesh, 'area') : cloudNormals(scan, { neighbors: 12 });
}

/** Ambient, key and fill light, and the gloss: chosen by eye on castings, so that waviness shows and flats stay calm. */
const AMBIENT = 0.3;
const KEY = 0.44;
const FILL = 0.4;
const GLOSS = 0.11;

/**
 * Colors the visible parts: normals and tints are blended over each triangle, a key light from the upper left and a fill light from
 * below the eye; the inside of a skin is dark. `pixels` holds red, green, blue of each small pixel.
 */
export function shade(
  scan: Scan,
  normals: Float32Array,
  regions: readonly TintedRegion[],
  camera: Camera,
  visible: Visible,
  pixels: Uint8ClampedArray,
): void {
  const { right, up, back } = camera;
  const light = (r: number, u: number, b: number): Vec3 => {
    const [x, y, z] = [0, 1, 2].map((k) => r * right[k]! + u * up[k]! + b * back[k]!) as [number, number, number];
    const size = Math.hypot(x, y, z);
    return [x / size, y / size, z / size];
  };
  const [kx, ky, kz] = light(-0.5, 0.85, 0.55);
  const [fx, fy, fz] = light(-0.15, -0.25, 1);
  const half = Math.hypot(kx + back[0], ky + back[1], kz + back[2]);
  const [hx, hy, hz] = [(kx + back[0]) / half, (ky + back[1]) / half, (kz + back[2]) / half];
  const [bx, by, bz] = back;
  const { tints, tintOf } = tintsByPoint(scan, regions);
  const { owner, x, y, width, height } = visible;
  const { triangles } = scan;

  for (let py = 0, at = 0; py < height; py++)
    for (let px = 0; px < width; px++, at++) {
      const found = owner[at]!;
      if (found === 0) continue;
      let nx: number;
      let ny: number;
      let nz: number;
      let r: number;
      let g: number;
      let b: number;
      let isOutside = true;
      if (triangles) {
        const t = 3 * (found - 1);
        const p = triangles[t]!;
        const q = triangles[t + 1]!;
        const s = triangles[t + 2]!;
        const qx = x[q]! - x[p]!;
        const qy = y[q]! - y[p]!;
        const sx = x[s]! - x[p]!;
        const sy = y[s]! - y[p]!;
        const area = qx * sy - sx * qy;
        const dx = px + 0.5 - x[p]!;
        const dy = py + 0.5 - y[p]!;
        const wq = (dx * sy - sx * dy) / area;
        const ws = (qx * dy - dx * qy) / area;
        const wp = 1 - wq - ws;
        nx = wp * normals[3 * p]! + wq * normals[3 * q]! + ws * normals[3 * s]!;
        ny = wp * normals[3 * p + 1]! + wq * normals[3 * q + 1]! + ws * normals[3 * s + 1]!;
        nz = wp * normals[3 * p + 2]! + wq * normals[3 * q + 2]! + ws * normals[3 * s + 2]!;
        // Down is positive on a picture: facing the eye turns clockwise.
        isOutside = area < 0 || nx * bx + ny * by + nz * bz > 0;
        const [tp, tq, ts] = [3 * tintOf[p]!, 3 * tintOf[q]!, 3 * tintOf[s]!];
        r = wp * tints[tp]! + wq * tints[tq]! + ws * tints[ts]!;
        g = wp * tints[tp + 1]! + wq * tints[tq + 1]! + ws * tints[ts + 1]!;
        b = wp * tints[tp + 2]! + wq * tints[tq + 2]! + ws * tints[ts + 2]!;
      } else {
        const p = found - 1;
        const toward = normals[3 * p]! * bx + normals[3 * p + 1]! * by + normals[3 * p + 2]! * bz;
        // Which way the normals of a cloud face is a guess.
        const sign = toward < 0 ? -1 : 1;
        nx = sign * normals[3 * p]!;
        ny = sign * normals[3 * p + 1]!;
        nz = sign * normals[3 * p + 2]!;
        const tp = 3 * tintOf[p]!;
        r = tints[tp]!;
        g = tints[tp + 1]!;
        b = tints[tp + 2]!;
      }
      if (!isOutside) {
        pixels[3 * at] = INSIDE[0];
        pixels[3 * at + 1] = INSIDE[1];
        pixels[3 * at + 2] = INSIDE[2];
        continue;
      }
      const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
      const inverse = size > 0 ? 1 / size : 0;
      const key = Math.max(0, (nx * kx + ny * ky + nz * kz) * inverse);
      const fill = Math.max(0, (nx * fx + ny * fy + nz * fz) * inverse);
      let gloss = Math.max(0, (nx * hx + ny * hy + nz * hz) * inverse);
      // To the 32nd power.
      gloss *= gloss;
      gloss *= gloss;
      gloss *= gloss;
      gloss *= gloss;
      gloss *= gloss;
      const diffuse = AMBIENT + KEY * key + FILL * fill;
      const white = 255 * GLOSS * gloss;
      pixels[3 * at] = r * diffuse + white;
      pixels[3 * at + 1] = g * diffuse + white;
      pixels[3 * at + 2] = b * diffuse + white;
    }
}

/** Colors in a row, and for each point which of them; where regions share a point the later one has it. */
function tintsByPoint(scan: Scan, regions: readonly TintedRegion[]): { tints: Float32Array; tintOf: Uint8Array } {
  const colors = [CASTING, ...regions.map(({ tint }) => tint)].slice(0, 256);
  const tintOf = new Uint8Array(scan.positions.length / 3);
  regions.slice(0, 255).forEach(({ select }, r) => {
    for (let i = 0; i < select.length; i++) tintOf[select[i]!] = r + 1;
  });
  return { tints: Float32Array.from(colors.flat()), tintOf };
}
