import type { Vec3 } from '../../math/vec3.js';
import { thin } from '../../prepare/thin.js';
import { createScan } from '../../scan/create.js';
import type { Points } from '../../scan/scan.js';
import { CloudGrowth, type CloudLimits } from './grow-cloud.js';
import type { Growth, GrowthEnds, SeedNormal } from './growth.js';
import { nearestPoint } from './seed.js';
import type { Turning } from './smoothing.js';

/** The size of cells, mm, beside what holds of their means. */
export interface CellLimits extends CloudLimits {
  readonly size: number;
}

/**
 * Grows over a scan whose normals have to be averaged over very many points: over the means of the points in cells, each with the plane
 * through those about it. In the end the points near the planes of the cells reached are taken. It passes over what one step of rounded
 * coordinates leaves empty, as cells are no smaller than that.
 */
export class CellGrowth implements Growth {
  readonly #cells: Cells;
  readonly #growth: CloudGrowth;

  /** @param size of the cells, mm */
  constructor(points: Points, place: Vec3, spacing: number, limits: Turning, { size, ...rest }: CellLimits) {
    this.#cells = cellsOf(points, size);
    const { means } = this.#cells;
    const seed = nearestPoint({ positions: means }, place).element;
    this.#growth = new CloudGrowth({ positions: means }, seed, spacing, limits, rest);
  }

  get normal(): SeedNormal {
    return this.#growth.normal;
  }

  ends(): GrowthEnds {
    return this.#growth.ends();
  }

  go(count: number): boolean {
    return this.#growth.go(count);
  }

  points(): Uint32Array {
    const { points, cellOf } = this.#cells;
    const isReached = new Uint8Array(this.#cells.means.length / 3);
    for (const cell of this.#growth.points()) isReached[cell] = 1;
    return points.filter((_, i) => isReached[cellOf[i]] === 1);
  }
}

interface Cells {
  /** Point indices, ascending, and the cell each lies in. */
  readonly points: Uint32Array;
  readonly cellOf: Uint32Array;
  /** xyz xyz … */
  readonly means: Float64Array;
}

function cellsOf({ positions, select }: Points, size: number): Cells {
  const points = select ? select.slice().sort() : Uint32Array.from({ length: positions.length / 3 }, (_, p) => p);
  const own = select
    ? Float64Array.from({ length: 3 * points.length }, (_, i) => positions[3 * points[(i / 3) | 0] + (i % 3)])
    : positions;
  const { scan, into } = thin(createScan({ positions: own }), { cell: size, keep: 'mean' });
  return { points, cellOf: into, means: scan.positions };
}
