import {
  type Circle,
  type Cylinder,
  expandedNumber,
  type Feature,
  type Fit,
  fitCircle,
  fitCylinder,
  fitPlane,
  moveOf,
  type Plane,
  type Random,
  seededRandom,
  type Vec3,
} from '@fettle/geom';

/** How alike the errors of two points are, by their distance over the correlation length. */
export const kernels = {
  gaussian: (t: number) => Math.exp((-t * t) / 2),
  exponential: (t: number) => Math.exp(-t),
  'Matérn 3/2': (t: number) => (1 + Math.sqrt(3) * t) * Math.exp(-Math.sqrt(3) * t),
} as const;
export type KernelName = keyof typeof kernels;

/** Points on a known surface, in rows and columns, to which noise is added along the surface's normal. */
export interface Piece<F extends Feature = Feature> {
  readonly name: string;
  readonly truth: F;
  readonly rows: number;
  readonly columns: number;
  /** Of row i, column j. */
  readonly place: (i: number, j: number) => Vec3;
  readonly normal: (i: number, j: number) => Vec3;
  readonly betweenRows: (i: number, k: number) => number;
  readonly betweenColumns: (j: number, k: number) => number;
  /** What a correlation length is a share of, mm: side, diameter, or length of the arc. */
  readonly extent: number;
  /** Names of the parameters looked at, by their place in the table of uncertainties. */
  readonly parameters: readonly (readonly [name: string, place: number])[];
  fit(positions: Float64Array): Fit<F>;
}

/** The patch of the published table: 40 × 40 mm, 6,400 points. */
export const planePiece = (side = 40, count = 80): Piece<Plane> => {
  const at = (i: number): number => ((i + 0.5) / count - 0.5) * side;
  const apart = (i: number, k: number): number => Math.abs(at(i) - at(k));
  return {
    name: 'plane',
    truth: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] },
    rows: count,
    columns: count,
    place: (i, j) => [at(i), at(j), 0],
    normal: () => [0, 0, 1],
    betweenRows: apart,
    betweenColumns: apart,
    extent: side,
    parameters: [
      ['shift', 0],
      ['tilt', 1],
      ['other tilt', 2],
    ],
    fit: (positions) => fitPlane({ positions }),
  };
};

/** Points along a circle of 10 mm radius, in its plane. */
export const circlePiece = (degrees: number, count = 1000, radius = 10): Piece<Circle> => {
  const isWhole = degrees >= 360;
  const angle = (j: number): number => ((isWhole ? j / count : j / (count - 1)) - 0.5) * degrees * (Math.PI / 180);
  const plane: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };
  return {
    name: isWhole ? 'circle' : `${degrees}° arc`,
    truth: { kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius },
    rows: 1,
    columns: count,
    place: (_, j) => [radius * Math.cos(angle(j)), radius * Math.sin(angle(j)), 0],
    normal: (_, j) => [Math.cos(angle(j)), Math.sin(angle(j)), 0],
    betweenRows: () => 0,
    betweenColumns: (j, k) => 2 * radius * Math.abs(Math.sin((angle(j) - angle(k)) / 2)),
    extent: isWhole ? 2 * radius : radius * degrees * (Math.PI / 180),
    parameters: [
      ['center', 0],
      ['center across', 1],
      ['radius', 5],
    ],
    fit: (positions) => fitCircle({ positions }, { plane }),
  };
};

/** A whole cylinder of 10 mm radius, as long as it is wide. */
export const cylinderPiece = (around = 72, along = 60, radius = 10, height = 20): Piece<Cylinder> => {
  const angle = (i: number): number => (i / around) * 2 * Math.PI;
  const up = (j: number): number => ((j + 0.5) / along - 0.5) * height;
  return {
    name: 'cylinder',
    truth: { kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius },
    rows: around,
    columns: along,
    place: (i, j) => [radius * Math.cos(angle(i)), radius * Math.sin(angle(i)), up(j)],
    normal: (i) => [Math.cos(angle(i)), Math.sin(angle(i)), 0],
    betweenRows: (i, k) => 2 * radius * Math.abs(Math.sin((angle(i) - angle(k)) / 2)),
    betweenColumns: (j, k) => Math.abs(up(j) - up(k)),
    extent: 2 * radius,
    parameters: [
      ['shift', 0],
      ['other shift', 1],
      ['tilt', 2],
      ['other tilt', 3],
      ['radius', 4],
    ],
    fit: (positions) => fitCylinder({ positions }),
  };
};

export interface Noise {
  readonly kernel: KernelName;
  /** Correlation length as a share of the piece's extent; 0: all of the noise is white. */
  readonly length: number;
  /** Standard deviations, mm. */
  readonly correlated: number;
  readonly white: number;
}

/**
 * A source of scans of the piece. The correlated field is the product of a kernel along the rows and one along the columns: two
 * small Cholesky factors give it exactly (for the Gaussian kernel the product is the kernel of the distance in space).
 */
export function scansOf(piece: Piece, noise: Noise, random: Random): () => Float64Array {
  const { rows, columns } = piece;
  const length = noise.length * piece.extent;
  const kernel = kernels[noise.kernel];
  const factor = (n: number, between: (i: number, k: number) => number): Float64Array =>
    cholesky(n, (i, k) => kernel(between(i, k) / length));
  const left = length > 0 ? factor(rows, piece.betweenRows) : undefined;
  const right = length > 0 ? factor(columns, piece.betweenColumns) : undefined;
  const white = length > 0 ? noise.white : Math.hypot(noise.white, noise.correlated);
  return () => {
    const field = new Float64Array(rows * columns);
    if (left && right) {
      const raw = field.map(() => random.normal());
      const half = new Float64Array(rows * columns);
      for (let i = 0; i < rows; i++)
        for (let k = 0; k <= i; k++)
          for (let j = 0; j < columns; j++) half[i * columns + j] += left[i * rows + k] * raw[k * columns + j];
      for (let i = 0; i < rows; i++) {
        for (let j = 0; j < columns; j++) {
          let sum = 0;
          for (let k = 0; k <= j; k++) sum += right[j * columns + k] * half[i * columns + k];
          field[i * columns + j] = noise.correlated * sum;
        }
      }
    }
    const positions = new Float64Array(3 * rows * columns);
    for (let i = 0; i < rows; i++) {
      for (let j = 0; j < columns; j++) {
        const p = i * columns + j;
        const e = field[p] + white * random.normal();
        const place = piece.place(i, j);
        const normal = piece.normal(i, j);
        for (let a = 0; a < 3; a++) positions[3 * p + a] = place[a] + e * normal[a];
      }
    }
    return positions;
  };
}

/** Lower factor of a correlation matrix; a touch of white noise keeps smooth kernels positive definite. */
function cholesky(n: number, entry: (i: number, k: number) => number): Float64Array {
  const lower = new Float64Array(n * n);
  for (let k = 0; k < n; k++) {
    for (let i = k; i < n; i++) {
      let sum = entry(i, k) + (i === k ? 1e-8 : 0);
      for (let j = 0; j < k; j++) sum -= lower[i * n + j] * lower[k * n + j];
      lower[i * n + k] = i === k ? Math.sqrt(sum) : sum / lower[k * n + k];
    }
  }
  return lower;
}

/** Out of many scans: how often, and how widely, the stated 95 % intervals hold the true values. One figure a parameter. */
export interface Tally {
  readonly coverage: readonly number[];
  /** Mean half width over 1.96 times the spread that the estimates really have: 1 could not be narrower. */
  readonly width: readonly number[];
  /** Share of the scans that were warned of a long correlation. */
  readonly warned: number;
}

export function tally(piece: Piece, noise: Noise, trials: number, seed = 1): Tally {
  const scan = scansOf(piece, noise, seededRandom(seed));
  const held = piece.parameters.map(() => 0);
  const widths = piece.parameters.map(() => 0);
  const squares = piece.parameters.map(() => 0);
  let warned = 0;
  for (let t = 0; t < trials; t++) {
    const { feature, uncertainty } = piece.fit(scan());
    const off = moveOf(piece.truth, uncertainty, feature);
    const m = off.length;
    piece.parameters.forEach(([, p], i) => {
      const standard = Math.sqrt(uncertainty.covariance[p * (m + 1)]);
      const { degreesOfFreedom } = uncertainty;
      const { value } = expandedNumber({ standard, random: standard, degreesOfFreedom });
      if (Math.abs(off[p]) <= value) held[i]++;
      widths[i] += value;
      squares[i] += off[p] ** 2;
    });
    if (uncertainty.warnings?.some(({ code }) => code === 'correlation-long')) warned++;
  }
  return {
    coverage: held.map((n) => n / trials),
    width: widths.map((w, i) => w / trials / (1.96 * Math.sqrt(squares[i] / trials))),
    warned: warned / trials,
  };
}
