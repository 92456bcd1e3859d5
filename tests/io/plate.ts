import { seededRandom } from '@fettle/geom';

/**
 * A plate of 100 × 60 × 10 mm with a bore, as a small scan with a point every 2 mm or less: its top at z = 10, its front at y = 0, its left side at x = 0,
 * the bore about (60, 30). A scanner's axes are not the part's: the scan's x, y, z are the part's y + 100, z − 50, x + 7.
 */
export interface PlateOptions {
  readonly boreRadius?: number;
  /** White noise, standard deviation, mm. */
  readonly noise?: number;
  readonly seed?: number;
}

/** The scan of a plate as the text of an ASCII PLY file. */
export function platePly(options: PlateOptions = {}): string {
  const { boreRadius = 8, noise = 0.02, seed = 1 } = options;
  const random = seededRandom(seed);
  const vertices: string[] = [];
  const faces: string[] = [];
  /** A grid of points; cells with a corner left out have no faces. */
  const surface = (
    rows: number,
    columns: number,
    at: (r: number, c: number) => readonly number[] | undefined,
  ): void => {
    const index: number[] = [];
    for (let r = 0; r < rows; r++)
      for (let c = 0; c < columns; c++) {
        const p = at(r, c);
        index.push(p ? vertices.length : -1);
        if (!p) continue;
        const [x, y, z] = p.map((v) => v + noise * random.normal()) as [number, number, number];
        vertices.push(`${(y + 100).toFixed(5)} ${(z - 50).toFixed(5)} ${(x + 7).toFixed(5)}`);
      }
    for (let r = 0; r + 1 < rows; r++)
      for (let c = 0; c + 1 < columns; c++) {
        const cell = [r * columns + c, r * columns + c + 1, (r + 1) * columns + c + 1, (r + 1) * columns + c];
        const [a, b, d, e] = cell.map((i) => index[i]!) as [number, number, number, number];
        if (Math.min(a, b, d, e) >= 0) faces.push(`3 ${a} ${b} ${d}`, `3 ${a} ${d} ${e}`);
      }
  };
  const overBore = (x: number, y: number): boolean => Math.hypot(x - 60, y - 30) < boreRadius + 1;
  surface(51, 31, (x, y) => (overBore(2 * x, 2 * y) ? undefined : [2 * x, 2 * y, 10]));
  surface(6, 51, (z, x) => [2 * x, 0, 2 * z]);
  surface(31, 6, (y, z) => [0, 2 * y, 2 * z]);
  surface(9, 41, (z, a) => {
    const angle = (a / 40) * 2 * Math.PI;
    return [60 + boreRadius * Math.cos(angle), 30 + boreRadius * Math.sin(angle), 1 + z];
  });
  return [
    'ply',
    'format ascii 1.0',
    'comment units mm',
    `element vertex ${vertices.length}`,
    ...['x', 'y', 'z'].map((axis) => `property float ${axis}`),
    `element face ${faces.length}`,
    'property list uchar int vertex_indices',
    'end_header',
    ...vertices,
    ...faces,
    '',
  ].join('\n');
}

/** A box of the part, as the scan has it. */
export const plateBox = (min: readonly [number, number, number], max: readonly [number, number, number]) => ({
  min: [min[1] + 100, min[2] - 50, min[0] + 7],
  max: [max[1] + 100, max[2] - 50, max[0] + 7],
});

/** A plan for the plate: frame at its left front top corner, x along the front, z up; place and size of the bore. */
export const platePlan = (bore: { min?: number; max?: number } = { min: 15.9, max: 16.1 }): object => ({
  version: 1,
  title: 'Plate',
  steps: [
    { step: 'region', id: 'top-points', box: plateBox([2, 2, 9.5], [98, 58, 10.5]) },
    { step: 'region', id: 'around-bore', box: plateBox([49, 19, 9.5], [71, 41, 10.5]) },
    { step: 'region', id: 'front-points', box: plateBox([2, -0.5, 1], [98, 0.5, 9]) },
    { step: 'region', id: 'side-points', box: plateBox([-0.5, 2, 1], [0.5, 58, 9]) },
    { step: 'region', id: 'bore-points', box: plateBox([50, 20, 0.5], [70, 40, 9.5]) },
    { step: 'region', id: 'flat', of: 'top-points', without: ['around-bore'] },
    { step: 'fit', id: 'top', shape: 'plane', to: 'flat' },
    { step: 'fit', id: 'front', shape: 'plane', to: 'front-points' },
    { step: 'fit', id: 'side', shape: 'plane', to: 'side-points' },
    { step: 'construct', id: 'edge', intersect: ['top', 'front'] },
    { step: 'construct', id: 'corner', intersect: ['top', 'front', 'side'] },
    { step: 'frame', id: 'datum', plane: 'top', line: 'edge', origin: 'corner' },
    { step: 'fit', id: 'bore', shape: 'cylinder', to: 'bore-points', reject: 4, limits: { diameter: bore } },
    { step: 'construct', id: 'bore-center', intersect: ['bore', 'top'], note: 'where the bore meets the top' },
    { step: 'measure', id: 'from-front', distance: ['bore-center', 'front'] },
  ],
});
