/**
 * Point sets whose best fit is known before any fit is run.
 *
 * Choose the surface, put points on it, draw deviations e, project them on the null space of Jᵀ (J: derivatives of the signed
 * distances by the shape's parameters), move each point by e along its normal. Jᵀe = 0 is the first-order condition of least
 * squares, so the surface chosen is a least-squares fit of the moved points (Forbes & Minh, Int. J. Metrol. Qual. Eng. 3 (2012)
 * 145-150; the idea of judging software so: ISO 10360-6, ASME B89.4.10). Nothing here is taken from the library under test.
 */
import type { Circle, Cone, Cylinder, Line, Plane, Random, Sphere, Vec3 } from '@fettle/geom';
import { Matrix, QrDecomposition, SingularValueDecomposition } from 'ml-matrix';

export type FittedFeature = Plane | Line | Circle | Sphere | Cylinder | Cone;
export type FittedKind = FittedFeature['kind'];

export interface NullSpaceCase {
  readonly positions: Float64Array;
  readonly expected: FittedFeature;
  readonly rms: number;
  /** Extent of the points, mm. */
  readonly size: number;
  /**
   * Ratio of the largest to the smallest singular value of J, tilts counted in mm at the end of `size`: by so much an error in the
   * points can grow in the fit.
   */
  readonly condition: number;
  /** What it is, for messages. */
  readonly note: string;
}

/** In standard position: about z, from the origin. */
interface Standing {
  /** Points on the surface, each with the unit directions its distance is measured along and their rows of J. */
  readonly points: readonly {
    readonly p: Vec3;
    readonly along: readonly Vec3[];
    readonly rows: readonly (readonly number[])[];
  }[];
  readonly feature: FittedFeature;
  /** Which columns of J are tilts or angles. */
  readonly angles: readonly number[];
  readonly size: number;
  readonly note: string;
}

export interface Draw {
  readonly count: number;
  /** Standard deviation of the deviations before they are projected, mm. */
  readonly noise: number;
  /** mm the shape is moved away from the origin; at random within, each axis. */
  readonly offset: number;
}

const DEGREE = Math.PI / 180;
const brief = (value: number): string => String(Number(value.toPrecision(3)));
const between = (random: Random, low: number, high: number): number => low + (high - low) * random.next();
const times = <T>(n: number, make: (i: number) => T): T[] => Array.from({ length: n }, (_, i) => make(i));

export function standingPlane(random: Random, count: number, length: number, width: number): Standing {
  const points = times(count, () => {
    const [x, y] = [between(random, -length / 2, length / 2), between(random, -width / 2, width / 2)];
    return { p: [x, y, 0] as const, along: [[0, 0, 1]] as Vec3[], rows: [[-1, x, y]] };
  });
  return {
    points,
    feature: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] },
    angles: [1, 2],
    size: length,
    note: `plane ${brief(length)} × ${brief(width)}`,
  };
}

export function standingLine(random: Random, count: number, length: number): Standing {
  const points = times(count, () => {
    const z = between(random, -length / 2, length / 2);
    return {
      p: [0, 0, z] as const,
      along: [
        [1, 0, 0],
        [0, 1, 0],
      ] as Vec3[],
      rows: [
        [-1, 0, -z, 0],
        [0, -1, 0, -z],
      ],
    };
  });
  return {
    points,
    feature: { kind: 'line', point: [0, 0, 0], direction: [0, 0, 1] },
    angles: [2, 3],
    size: length,
    note: `line ${brief(length)}`,
  };
}

export function standingCircle(random: Random, count: number, radius: number, arc: number): Standing {
  const points = times(count, (i) => {
    const t = angleIn(random, arc, i, count);
    const [c, s] = [Math.cos(t), Math.sin(t)];
    const [x, y] = [radius * c, radius * s];
    return {
      p: [x, y, 0] as const,
      along: [
        [c, s, 0],
        [0, 0, 1],
      ] as Vec3[],
      rows: [
        [-c, -s, 0, 0, 0, -1],
        [0, 0, -1, x, y, 0],
      ],
    };
  });
  return {
    points,
    feature: { kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius },
    angles: [3, 4],
    size: 2 * radius * Math.sin(Math.min(arc, Math.PI) / 2),
    note: `circle ${brief(radius)}, arc ${brief(arc / DEGREE)}°`,
  };
}

/** A cap of the full angle `cap`; 2π for a whole sphere. */
export function standingSphere(random: Random, count: number, radius: number, cap: number): Standing {
  const points = times(count, () => {
    const c = between(random, Math.cos(cap / 2), 1);
    const s = Math.sqrt(1 - c * c);
    const t = 2 * Math.PI * random.next();
    const n: Vec3 = [s * Math.cos(t), s * Math.sin(t), c];
    return { p: [radius * n[0], radius * n[1], radius * n[2]] as const, along: [n], rows: [[-n[0], -n[1], -n[2], -1]] };
  });
  return {
    points,
    feature: { kind: 'sphere', center: [0, 0, 0], radius },
    angles: [],
    size: 2 * radius * Math.sin(Math.min(cap, Math.PI) / 2),
    note: `sphere ${brief(radius)}, cap ${brief(cap / DEGREE)}°`,
  };
}

export function standingCylinder(random: Random, count: number, radius: number, arc: number, length: number): Standing {
  const points = times(count, (i) => {
    const t = angleIn(random, arc, i, count);
    const z = between(random, -length / 2, length / 2);
    const [c, s] = [Math.cos(t), Math.sin(t)];
    return {
      p: [radius * c, radius * s, z] as const,
      along: [[c, s, 0]] as Vec3[],
      rows: [[-c, -s, -z * c, -z * s, -1]],
    };
  });
  return {
    points,
    feature: { kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius },
    angles: [2, 3],
    size: Math.max(length, 2 * radius * Math.sin(Math.min(arc, Math.PI) / 2)),
    note: `cylinder ${brief(radius)}, arc ${brief(arc / DEGREE)}°, length ${brief(length)}`,
  };
}

/** `radius` at its middle, `length` along the generator on either side of it. The apex is never passed. */
export function standingCone(
  random: Random,
  count: number,
  radius: number,
  halfAngle: number,
  arc: number,
  length: number,
): Standing {
  const [cos, sin] = [Math.cos(halfAngle), Math.sin(halfAngle)];
  const half = Math.min(length / 2, (0.95 * radius) / sin);
  const points = times(count, (i) => {
    const t = angleIn(random, arc, i, count);
    const g = between(random, -half, half);
    const [far, z] = [radius + g * sin, g * cos];
    const [c, s] = [Math.cos(t), Math.sin(t)];
    const lever = z * cos + far * sin;
    return {
      p: [far * c, far * s, z] as const,
      along: [[cos * c, cos * s, -sin]] as Vec3[],
      rows: [[-cos * c, -cos * s, -lever * c, -lever * s, -cos, -g]],
    };
  });
  return {
    points,
    feature: { kind: 'cone', apex: [0, 0, -radius / Math.tan(halfAngle)], direction: [0, 0, 1], halfAngle },
    angles: [2, 3, 5],
    size: Math.max(2 * half, 2 * radius * Math.sin(Math.min(arc, Math.PI) / 2)),
    note: `cone ${brief(radius)}, half-angle ${brief(halfAngle / DEGREE)}°, arc ${brief(arc / DEGREE)}°, length ${brief(length)}`,
  };
}

/** Over the whole arc for any number of points: one in each of `count` equal parts. */
const angleIn = (random: Random, arc: number, i: number, count: number): number =>
  arc * ((i + random.next()) / count - 0.5);

/** Deviate, turn and move a standing shape. */
export function nullSpaceCase(random: Random, standing: Standing, noise: number, offset: number): NullSpaceCase {
  const rows = standing.points.flatMap(({ rows }) =>
    rows.map((row) => row.map((a, k) => (standing.angles.includes(k) ? a / standing.size : a))),
  );
  const jacobian = new Matrix(rows);
  const drawn = Matrix.columnVector(rows.map(() => noise * random.normal()));
  const deviations = offColumns(jacobian, drawn);
  const singular = new SingularValueDecomposition(jacobian).diagonal;
  const turn = randomRotation(random);
  const move: Vec3 = [
    between(random, -offset, offset),
    between(random, -offset, offset),
    between(random, -offset, offset),
  ];
  const positions = new Float64Array(3 * standing.points.length);
  let row = 0;
  let squares = 0;
  standing.points.forEach(({ p, along }, i) => {
    let q = p;
    for (const n of along) {
      const e = deviations.get(row++, 0);
      squares += e * e;
      q = [q[0] + e * n[0], q[1] + e * n[1], q[2] + e * n[2]];
    }
    const there = moved(q, turn, move);
    for (let k = 0; k < 3; k++) positions[3 * i + k] = there[k];
  });
  return {
    positions,
    expected: movedFeature(standing.feature, turn, move),
    rms: Math.sqrt(squares / standing.points.length),
    size: standing.size,
    condition: Math.max(...singular) / Math.min(...singular),
    note: `${standing.note}, ${standing.points.length} points, noise ${brief(noise)}`,
  };
}

/** e less its part in the columns of J. Twice, so that what is left is orthogonal to the last digit. */
function offColumns(jacobian: Matrix, e: Matrix): Matrix {
  const q = new QrDecomposition(jacobian).orthogonalMatrix;
  let left = e;
  for (let pass = 0; pass < 2; pass++) left = Matrix.sub(left, q.mmul(q.transpose().mmul(left)));
  return left;
}

type Rotation = readonly [Vec3, Vec3, Vec3];

/** Evenly over all rotations (Shoemake's unit quaternion). */
export function randomRotation(random: Random): Rotation {
  const q = [random.normal(), random.normal(), random.normal(), random.normal()];
  const long = Math.hypot(...q);
  const [a, b, c, d] = q.map((k) => k / long);
  return [
    [a * a + b * b - c * c - d * d, 2 * (b * c - a * d), 2 * (b * d + a * c)],
    [2 * (b * c + a * d), a * a - b * b + c * c - d * d, 2 * (c * d - a * b)],
    [2 * (b * d - a * c), 2 * (c * d + a * b), a * a - b * b - c * c + d * d],
  ];
}

const turned = (p: Vec3, r: Rotation): Vec3 =>
  [0, 1, 2].map((i) => r[i][0] * p[0] + r[i][1] * p[1] + r[i][2] * p[2]) as unknown as Vec3;
const moved = (p: Vec3, r: Rotation, by: Vec3): Vec3 => turned(p, r).map((c, i) => c + by[i]) as unknown as Vec3;

function movedFeature(feature: FittedFeature, r: Rotation, by: Vec3): FittedFeature {
  switch (feature.kind) {
    case 'plane':
      return { ...feature, point: moved(feature.point, r, by), normal: turned(feature.normal, r) };
    case 'line':
    case 'cylinder':
      return { ...feature, point: moved(feature.point, r, by), direction: turned(feature.direction, r) };
    case 'circle':
      return { ...feature, center: moved(feature.center, r, by), normal: turned(feature.normal, r) };
    case 'sphere':
      return { ...feature, center: moved(feature.center, r, by) };
    case 'cone':
      return { ...feature, apex: moved(feature.apex, r, by), direction: turned(feature.direction, r) };
  }
}

/** Uniform in the logarithm. */
const logBetween = (random: Random, low: number, high: number): number =>
  Math.exp(between(random, Math.log(low), Math.log(high)));

/**
 * A case of one kind from the whole range a person meets: 25° arcs to full turns, cylinders from 40° and from discs of length/diameter
 * 0.05 to needles of 100, half-angles from 0.3° to 80°, sizes from 1 to 1,000 mm, up to 20 m from zero, noise from a millionth to
 * a fiftieth of what shows the shape (an arc's sagitta, a strip's width).
 */
export function drawCase(random: Random, kind: FittedKind): NullSpaceCase {
  const radius = logBetween(random, 1, 300);
  const count = Math.round(logBetween(random, 30, 400));
  const offset = random.next() < 0.5 ? 20_000 : 100;
  const share = logBetween(random, 1e-6, 0.02);
  const arcFrom = (least: number): number => DEGREE * (random.next() < 0.25 ? 360 : between(random, least, 360));
  switch (kind) {
    case 'plane': {
      const width = radius * logBetween(random, 0.01, 1);
      return nullSpaceCase(random, standingPlane(random, count, radius, width), share * width, offset);
    }
    case 'line':
      return nullSpaceCase(random, standingLine(random, count, radius), share * radius, offset);
    case 'circle': {
      const arc = arcFrom(25);
      return nullSpaceCase(random, standingCircle(random, count, radius, arc), share * sagitta(radius, arc), offset);
    }
    case 'sphere': {
      const cap = arcFrom(25);
      return nullSpaceCase(random, standingSphere(random, count, radius, cap), share * sagitta(radius, cap), offset);
    }
    case 'cylinder': {
      const arc = arcFrom(40);
      const length = 2 * radius * logBetween(random, 0.05, 100);
      const shown = Math.min(sagitta(radius, arc), length);
      return nullSpaceCase(random, standingCylinder(random, count, radius, arc, length), share * shown, offset);
    }
    case 'cone': {
      const halfAngle = DEGREE * (random.next() < 0.5 ? logBetween(random, 0.3, 10) : between(random, 10, 80));
      const arc = arcFrom(90);
      const length = 2 * radius * logBetween(random, 0.1, 10);
      const standing = standingCone(random, count, radius, halfAngle, arc, length);
      // What tells a cone from its neighbors: how far it opens, and how far its rim stands off its chord.
      const shown = Math.min(
        standing.size * Math.sin(halfAngle) * Math.cos(halfAngle),
        sagitta(radius, arc) * Math.cos(halfAngle),
      );
      return nullSpaceCase(random, standing, share * shown, offset);
    }
  }
}

const sagitta = (radius: number, arc: number): number => radius * (1 - Math.cos(Math.min(arc, Math.PI) / 2));

/** How far a fitted feature is from the expected one, mm: in place, in size, and in direction at the end of the points' extent. */
export function departure(found: FittedFeature, { expected, positions, size }: NullSpaceCase): number {
  const n = positions.length / 3;
  const centroid: [number, number, number] = [0, 0, 0];
  for (let i = 0; i < positions.length; i++) centroid[i % 3] += positions[i] / n;
  const [a, b] = [describe(found, centroid), describe(expected, centroid)];
  const tilt = a.direction && b.direction ? Math.hypot(...crossOf(a.direction, b.direction)) * size : 0;
  return Math.max(
    tilt,
    Math.hypot(...minus(a.place, b.place)),
    ...a.sizes.map((s, i) => Math.abs(s - b.sizes[i])),
    Math.abs(a.angle - b.angle) * size,
  );
}

interface Description {
  /** Of plane and axis: its point nearest the centroid. */
  readonly place: Vec3;
  readonly direction?: Vec3;
  /** Radius; of a cone that at the level of the centroid, times the cosine, as a distance is. */
  readonly sizes: readonly number[];
  readonly angle: number;
}

function describe(f: FittedFeature, c: Vec3): Description {
  switch (f.kind) {
    case 'plane': {
      const d = dotOf(minus(f.point, c), f.normal);
      return {
        place: [c[0] + d * f.normal[0], c[1] + d * f.normal[1], c[2] + d * f.normal[2]],
        direction: f.normal,
        sizes: [],
        angle: 0,
      };
    }
    case 'line':
      return { place: foot(f.point, f.direction, c), direction: f.direction, sizes: [], angle: 0 };
    case 'circle':
      return { place: f.center, direction: f.normal, sizes: [f.radius], angle: 0 };
    case 'sphere':
      return { place: f.center, sizes: [f.radius], angle: 0 };
    case 'cylinder':
      return { place: foot(f.point, f.direction, c), direction: f.direction, sizes: [f.radius], angle: 0 };
    case 'cone': {
      const level = dotOf(minus(c, f.apex), f.direction);
      const radius = level * Math.sin(f.halfAngle);
      return { place: foot(f.apex, f.direction, c), direction: f.direction, sizes: [radius], angle: f.halfAngle };
    }
  }
}

const dotOf = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a: Vec3, b: Vec3): Vec3 => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const crossOf = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
/** Point of the axis nearest c. */
const foot = (p: Vec3, w: Vec3, c: Vec3): Vec3 => {
  const t = dotOf(minus(c, p), w);
  return [p[0] + t * w[0], p[1] + t * w[1], p[2] + t * w[2]];
};
