import { createScan, type Scan, seededRandom, type Vec3 } from '@fettle/geom';

/**
 * A made-up piece of bent sheet, scanned in its own axes, mm: 2 thick, one leg 60 along x, the other 40 up z, bent by 90° with 3 inside and
 * 5 outside, 50 wide along y.
 */
export function scanSheet({ noise = 0.02, seed = 1, spacing = 0.5 } = {}): Scan {
  const random = seededRandom(seed);
  const outline = outlineOf(spacing);
  const rows = Math.round(50 / spacing);
  const [positions, triangles]: [number[], number[]] = [[], []];
  for (const { x, z, nx, nz } of outline)
    for (let j = 0; j <= rows; j++) {
      const e = noise * random.normal();
      positions.push(x + e * nx, (50 * j) / rows, z + e * nz);
    }
  for (let i = 0; i < outline.length; i++)
    for (let j = 0; j < rows; j++) {
      const p = i * (rows + 1) + j;
      const q = ((i + 1) % outline.length) * (rows + 1) + j;
      triangles.push(p, q + 1, q, p, p + 1, q + 1);
    }
  return createScan({ positions, triangles, name: 'sheet.ply' });
}

interface Place {
  readonly x: number;
  readonly z: number;
  readonly nx: number;
  readonly nz: number;
}

/** Around the section, counterclockwise seen against y, from the outside of the bend along the long leg. */
function outlineOf(spacing: number): Place[] {
  const places: Place[] = [];
  const line = ([x, , z]: Vec3, [u, , w]: Vec3) => {
    const [length, n] = [Math.hypot(u - x, w - z), Math.max(2, Math.round(Math.hypot(u - x, w - z) / spacing))];
    const [nx, nz] = [(w - z) / length, -(u - x) / length];
    for (let i = 0; i < n; i++) places.push({ x: x + ((u - x) * i) / n, z: z + ((w - z) * i) / n, nx, nz });
  };
  const arc = (radius: number, from: number, to: number) => {
    const n = Math.max(4, Math.round((radius * Math.abs(to - from)) / spacing));
    const out = to > from ? 1 : -1;
    for (let i = 0; i < n; i++) {
      const a = from + ((to - from) * i) / n;
      const [c, s] = [Math.cos(a), Math.sin(a)];
      places.push({ x: 5 + radius * c, z: 5 + radius * s, nx: out * c, nz: out * s });
    }
  };
  line([5, 0, 0], [60, 0, 0]);
  line([60, 0, 0], [60, 0, 2]);
  line([60, 0, 2], [5, 0, 2]);
  arc(3, -Math.PI / 2, -Math.PI);
  line([2, 0, 5], [2, 0, 40]);
  line([2, 0, 40], [0, 0, 40]);
  line([0, 0, 40], [0, 0, 5]);
  arc(5, Math.PI, 1.5 * Math.PI);
  return places;
}
