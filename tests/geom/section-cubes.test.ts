import {
  cutMesh,
  FettleError,
  type Mesh,
  type Random,
  type Section,
  sectionArea,
  seededRandom,
  type Vec3,
} from '@fettle/geom';
import { describe, expect, it } from 'vitest';
import { flipped, meshOf, shuffled } from './section-solids.js';

/** A solid of unit cubes at random places of a grid: it touches itself along edges and in corners, and has holes of every kind. */
class Cubes {
  readonly size: number;
  readonly #filled: Uint8Array;

  constructor(size: number, share: number, random: Random) {
    this.size = size;
    this.#filled = Uint8Array.from({ length: size ** 3 }, () => (random.next() < share ? 1 : 0));
  }

  has(x: number, y: number, z: number): boolean {
    const inside = [x, y, z].every((c) => c >= 0 && c < this.size);
    return inside && this.#filled[(z * this.size + y) * this.size + x] === 1;
  }

  /** Cubes in a layer. */
  layer(z: number): [number, number][] {
    const all = Array.from({ length: this.size ** 2 }, (_, i): [number, number] => [
      i % this.size,
      Math.floor(i / this.size),
    ]);
    return all.filter(([x, y]) => this.has(x, y, z));
  }

  /** The faces between full and empty, two triangles each, outward; corners are shared wherever cubes meet. */
  surface(): Mesh {
    const numbers = new Map<string, number>();
    const points: Vec3[] = [];
    const corner = (p: Vec3): number => {
      const known = numbers.get(p.join());
      if (known !== undefined) return known;
      numbers.set(p.join(), points.length);
      return points.push(p) - 1;
    };
    const triangles: number[][] = [];
    for (let z = 0; z < this.size; z++)
      for (const [x, y] of this.layer(z))
        for (let axis = 0; axis < 3; axis++)
          for (const side of [0, 1]) {
            const beyond = [x, y, z];
            beyond[axis] += side === 1 ? 1 : -1;
            if (this.has(beyond[0], beyond[1], beyond[2])) continue;
            const [u, v] = side === 1 ? [(axis + 1) % 3, (axis + 2) % 3] : [(axis + 2) % 3, (axis + 1) % 3];
            const quad = [
              [0, 0],
              [1, 0],
              [1, 1],
              [0, 1],
            ].map(([a, b]) => {
              const p = [x, y, z];
              p[axis] += side;
              p[u] += a;
              p[v] += b;
              return corner(p as unknown as Vec3);
            });
            triangles.push([quad[0], quad[1], quad[2]], [quad[0], quad[2], quad[3]]);
          }
    return meshOf(points, triangles, 'cubes');
  }

  /**
   * The area of a cut at a whole height: that of the layer under it; but where faces lie in the plane and no wall hangs under them,
   * that of the layer over it. Places hang together along the edges of faces in the plane or at it.
   */
  areaAt(z: number): number {
    const parent = new Map<string, string>();
    const find = (p: string): string => {
      const up = parent.get(p) ?? p;
      return up === p ? p : find(up);
    };
    const wide = this.size + 1;
    const hangs = new Set<string>();
    for (let x = 0; x < wide; x++)
      for (let y = 0; y < wide; y++) {
        const around = (dz: number) => [
          this.has(x - 1, y - 1, dz),
          this.has(x, y - 1, dz),
          this.has(x, y, dz),
          this.has(x - 1, y, dz),
        ];
        const [under, over] = [around(z - 1), around(z)];
        // The edge up from here to y + 1, and to x + 1, if a face has it: the four cubes about it are neither all full nor all empty.
        for (const [ex, ey, cubes] of [
          [0, 1, [under[2], under[3], over[2], over[3]]],
          [1, 0, [under[1], under[2], over[1], over[2]]],
        ] as const)
          if (cubes.some(Boolean) && !cubes.every(Boolean)) parent.set(find(`${x},${y}`), find(`${x + ex},${y + ey}`));
        // The diagonal that cuts a face into triangles adds nothing: its ends hang together along the face's edges.
        if (under.some(Boolean) && !under.every(Boolean)) hangs.add(`${x},${y}`);
      }
    const hanging = new Set(Array.from(hangs, find));
    const isLeft = ([x, y]: [number, number]) => !hanging.has(find(`${x},${y}`));
    const standing = this.layer(z).filter((c) => !this.has(...c, z - 1) && isLeft(c));
    const hollow = this.layer(z - 1).filter((c) => !this.has(...c, z) && isLeft(c));
    return this.layer(z - 1).length + standing.length - hollow.length;
  }
}

const segmentsOf = (section: Section): string[] =>
  section.polylines.flatMap(({ points, closed }) => {
    const places = Array.from({ length: points.length / 3 }, (_, i) =>
      Array.from(points.subarray(3 * i, 3 * i + 3), (c) => c.toFixed(9)).join(),
    );
    return places.slice(closed ? 0 : 1).map((p, i) => {
      const before = places[(closed ? i + places.length - 1 : i) % places.length];
      return [before, p].sort().join(' to ');
    });
  });

const cutOrNothing = (mesh: Mesh, point: Vec3, normal: Vec3): Section | undefined => {
  try {
    return cutMesh(mesh, { point, normal });
  } catch (error) {
    if (error instanceof FettleError && error.code === 'section-misses') return undefined;
    throw error;
  }
};

describe('a solid of cubes', () => {
  const random = seededRandom(77);
  const solids = Array.from({ length: 40 }, (_, i) => new Cubes(3 + (i % 4), 0.15 + 0.02 * i, random));

  it('cut through the middle of a layer has the area of its cubes', () => {
    for (const [i, cubes] of solids.entries())
      for (let z = 0; z < cubes.size; z++) {
        const section = cutOrNothing(shuffled(cubes.surface(), i), [0, 0, z + 0.5], [0, 0, 1]);
        expect(section?.polylines.every((p) => p.closed) ?? true).toBe(true);
        expect(section ? sectionArea(section) : 0).toBeCloseTo(cubes.layer(z).length, 9);
      }
  });

  it('cut at the faces of a layer has that of the cubes below, but for faces no wall hangs under', () => {
    for (const [i, cubes] of solids.entries())
      for (let z = 0; z <= cubes.size; z++) {
        const section = cutOrNothing(shuffled(cubes.surface(), i), [0, 0, z], [0, 0, 1]);
        expect(section ? sectionArea(section) : 0).toBeCloseTo(cubes.areaAt(z), 9);
      }
  });

  it('cut at a slant through corners and edges, triangles turned over or not, gives no segment twice', () => {
    const planes: [Vec3, Vec3][] = [
      [
        [1, 1, 1],
        [1, 1, 1],
      ],
      [
        [2, 0, 1],
        [1, -1, 0],
      ],
      [
        [0, 1, 2],
        [0, 1, 1],
      ],
      [
        [1, 2, 1],
        [1, 2, 1],
      ],
      [
        [1.5, 1, 1],
        [1, 0.3, -0.7],
      ],
    ];
    for (const [i, cubes] of solids.entries())
      for (const [point, normal] of planes) {
        const mesh = flipped(shuffled(cubes.surface(), i), (t) => t % 5 === i % 5);
        const section = cutOrNothing(mesh, point, normal);
        if (!section) continue;
        const segments = segmentsOf(section);
        expect(new Set(segments).size).toBe(segments.length);
      }
  });

  it('cut at a slant between its corners has closed outlines and the area that counting points gives', () => {
    for (const cubes of solids.slice(0, 12)) {
      const section = cutOrNothing(cubes.surface(), [1.37, 1.21, 1.53], [0.31, 0.44, 1]);
      if (!section) continue;
      expect(section.polylines.every((p) => p.closed)).toBe(true);
      const step = 0.01;
      let inside = 0;
      for (let x = step / 2; x < cubes.size; x += step)
        for (let y = step / 2; y < cubes.size; y += step) {
          const z = 1.53 - 0.31 * (x - 1.37) - 0.44 * (y - 1.21);
          if (cubes.has(Math.floor(x), Math.floor(y), Math.floor(z))) inside++;
        }
      const seenAslant = Math.hypot(0.31, 0.44, 1);
      expect(Math.abs(sectionArea(section) - inside * step * step * seenAslant)).toBeLessThan(0.1);
    }
  });
});
