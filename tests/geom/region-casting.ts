import { createScan, type Scan, seededRandom } from '@fettle/geom';

export interface Casting {
  /** mm between points. */
  readonly spacing: number;
  /** Standard deviation of the points off the surface, mm. */
  readonly noise: number;
  /** Radius of the fillet between floor and wall, mm. */
  readonly fillet: number;
  readonly mesh: boolean;
  readonly seed: number;
}

export interface Scanned {
  readonly scan: Scan;
  /** For each point how far it is past the end of the floor, mm along the surface: negative on the floor. */
  readonly past: Float64Array;
  /** For each point whether it is well inside the rims of the scan. */
  readonly isInside: Uint8Array;
}

const floor = 30;
const wall = 20;
const wide = 30;

/**
 * A floor (z = 0, x < 0) that a fillet joins to a wall (x = fillet), scanned in rows with the points a little out of line; the noise
 * is square to the surface.
 */
export function scanCasting({ spacing, noise, fillet, mesh, seed }: Casting): Scanned {
  const random = seededRandom(seed);
  const arc = (fillet * Math.PI) / 2;
  const columns = Math.round((floor + arc + wall) / spacing) + 1;
  const rows = Math.round(wide / spacing) + 1;
  const count = columns * rows;
  const positions = new Float64Array(3 * count);
  const past = new Float64Array(count);
  const isInside = new Uint8Array(count);
  const jitter = mesh ? 0.3 : 0.8;
  for (let p = 0; p < count; p++) {
    const a = -floor + spacing * ((p % columns) + jitter * (random.next() - 0.5));
    const y = spacing * (Math.floor(p / columns) + jitter * (random.next() - 0.5));
    const angle = Math.min(Math.max(a / fillet, 0), Math.PI / 2);
    const [sin, cos] = [Math.sin(angle), Math.cos(angle)];
    const off = noise * random.normal();
    positions[3 * p] = Math.min(a, 0) + fillet * sin - off * sin;
    positions[3 * p + 1] = y;
    positions[3 * p + 2] = fillet * (1 - cos) + Math.max(a - arc, 0) + off * cos;
    past[p] = a;
    isInside[p] = y > 3 * spacing && y < wide - 3 * spacing && a > 3 * spacing - floor ? 1 : 0;
  }
  const triangles: number[] = [];
  for (let j = 0; mesh && j + 1 < rows; j++)
    for (let i = 0; i + 1 < columns; i++) {
      const a = j * columns + i;
      triangles.push(a, a + 1, a + columns, a + 1, a + columns + 1, a + columns);
    }
  return { scan: createScan({ positions, triangles, name: 'casting' }), past, isInside };
}
