import type { NumberUncertainty, Uncertainty } from '../../feature/uncertainty.js';
import { jointFactor, studentFactor } from '../../math/distributions.js';
import { symmetricEigen } from '../../math/symmetric-eigen.js';
import { addScaled, type Vec3 } from '../../math/vec3.js';

/** ± of one quantity, with the coverage factor it was made with (JCGM 100, 6 and G.4). */
export interface PlusMinus {
  /** mm or radians. Infinity where nothing was left over to tell the noise by. */
  readonly value: number;
  /** k: ± is k standard uncertainties. */
  readonly factor: number;
  /** By Welch and Satterthwaite: a stated accuracy counts as known for certain. */
  readonly degreesOfFreedom: number;
}

export interface ExpandedPosition extends PlusMinus {
  /** In which the ± is largest, unit length. The ± is of the place along this direction alone. */
  readonly worst: Vec3;
  /** 1: along a normal; 2: square to an axis, or within a plane; 3: in space. */
  readonly dimensions: 1 | 2 | 3;
  /** Half the longest axis of the interval, ellipse or ellipsoid that holds the whole position with the same confidence, mm. */
  readonly together: number;
}

export interface ExpandedDirection extends PlusMinus {
  /** What it comes to over the whole feature: the ± in mm of one end against the other. */
  readonly overLength: number;
}

/** Uncertainty as what it is for. Only what the kind of feature has. */
export interface Expanded {
  readonly confidence: number;
  /** Of the center, of the plane along its normal, of the axis square to itself: where the points are. */
  readonly position: ExpandedPosition;
  /** Of a normal or axis toward its worst side; of a slot, ellipse or frame: of its turn. */
  readonly direction?: ExpandedDirection;
  readonly radius?: PlusMinus;
  readonly halfAngle?: PlusMinus;
  /** Of a slot. */
  readonly length?: PlusMinus;
  readonly width?: PlusMinus;
  /** Of an ellipse. */
  readonly major?: PlusMinus;
  readonly minor?: PlusMinus;
}

type Size = 'radius' | 'halfAngle' | 'length' | 'width' | 'major' | 'minor';

interface Roles {
  /** Parameters that shift, and the axes u, v, w (0, 1, 2) they shift along. */
  readonly shifts: readonly (readonly [parameter: number, axis: number])[];
  readonly tilts: readonly number[];
  readonly sizes?: Readonly<Partial<Record<Size, number>>>;
}

const across: Roles['shifts'] = [
  [0, 0],
  [1, 1],
];
const inSpace: Roles['shifts'] = [...across, [2, 2]];

const ROLES: Record<Uncertainty['kind'], Roles> = {
  plane: { shifts: [[0, 2]], tilts: [1, 2] },
  line: { shifts: across, tilts: [2, 3] },
  point: { shifts: inSpace, tilts: [] },
  circle: { shifts: inSpace, tilts: [3, 4], sizes: { radius: 5 } },
  sphere: { shifts: inSpace, tilts: [], sizes: { radius: 3 } },
  cylinder: { shifts: across, tilts: [2, 3], sizes: { radius: 4 } },
  cone: { shifts: across, tilts: [2, 3], sizes: { radius: 4, halfAngle: 5 } },
  slot: { shifts: across, tilts: [2], sizes: { length: 3, width: 4 } },
  ellipse: { shifts: across, tilts: [2], sizes: { major: 3, minor: 4 } },
  frame: { shifts: inSpace, tilts: [3, 4, 5] },
};

/**
 * Expand a standard uncertainty to an interval that holds the true value with the given confidence (JCGM 100, 6.2 and annex G):
 * Student's t with the effective degrees of freedom.
 */
export function expanded(uncertainty: Uncertainty, confidence = 0.95): Expanded {
  const { axes, reach } = uncertainty;
  const { shifts, tilts, sizes = {} } = ROLES[uncertainty.kind];
  const m = Math.round(Math.sqrt(uncertainty.covariance.length));
  const unit = (p: number): Float64Array => Float64Array.from({ length: m }, (_, i) => (i === p ? 1 : 0));

  const place = worstOf(
    uncertainty,
    shifts.map(([p]) => p),
  );
  const known = shifts.filter(([p]) => uncertainty.covariance[p * (m + 1)] > 0).length || shifts.length;
  const position = plusMinus(uncertainty, place, confidence);
  const worst = shifts.reduce<Vec3>((sum, [p, a]) => addScaled(sum, axes[a], place[p]), [0, 0, 0]);
  const standard = position.factor === Infinity ? Infinity : position.value / position.factor;
  const parts: { -readonly [K in keyof Expanded]?: Expanded[K] } = {
    position: {
      ...position,
      worst,
      dimensions: known as 1 | 2 | 3,
      together:
        position.factor === Infinity ? Infinity : standard * jointFactor(confidence, known, position.degreesOfFreedom),
    },
  };
  if (tilts.length > 0) {
    const turn = plusMinus(uncertainty, worstOf(uncertainty, tilts), confidence);
    parts.direction = { ...turn, overLength: turn.value * 2 * reach };
  }
  for (const [name, p] of Object.entries(sizes) as [Size, number][])
    parts[name] = plusMinus(uncertainty, unit(p), confidence);
  return { confidence, ...parts } as Expanded;
}

/** The combination of `parameters`, unit length, whose variance is largest. */
function worstOf({ covariance }: Uncertainty, parameters: readonly number[]): Float64Array {
  const m = Math.round(Math.sqrt(covariance.length));
  const n = parameters.length;
  const block = parameters.flatMap((p) => parameters.map((q) => covariance[p * m + q]));
  const most = symmetricEigen(block, n).vectors[n - 1];
  const all = new Float64Array(m);
  parameters.forEach((p, i) => {
    all[p] = most[i];
  });
  return all;
}

function plusMinus(uncertainty: Uncertainty, combination: Float64Array, confidence: number): PlusMinus {
  const { covariance, random = covariance, degreesOfFreedom } = uncertainty;
  const whole = form(covariance, combination);
  const degrees = effectiveDegrees(whole, form(random, combination), degreesOfFreedom);
  const factor = studentFactor(confidence, degrees);
  return { value: factor === Infinity ? Infinity : factor * Math.sqrt(whole), factor, degreesOfFreedom: degrees };
}

/** Of a variance of which `random` has `degrees` degrees of freedom and the rest none to lose (JCGM 100, G.4.1). */
const effectiveDegrees = (whole: number, random: number, degrees: number): number =>
  degrees === 0 ? 0 : random > 0 ? degrees * (whole / random) ** 2 : Infinity;

/** xᵀ·C·x */
function form(matrix: Float64Array, x: Float64Array): number {
  const m = x.length;
  let sum = 0;
  for (let i = 0; i < m; i++) for (let j = 0; j < m; j++) sum += x[i] * matrix[i * m + j] * x[j];
  return Math.max(0, sum);
}

/**
 * One line for a job sheet: `center ± 0.012 mm in its worst direction, radius ± 0.0041 mm, axis ± 0.021° (0.036 mm over its
 * length); 95 %, k = 2.1`.
 */
export function expandedInWords(uncertainty: Uncertainty, confidence = 0.95): string {
  const all = expanded(uncertainty, confidence);
  const { kind } = uncertainty;
  if (all.position.value === Infinity)
    return 'no more points than it takes, or all with one coordinate alike: their noise cannot be told';
  const where = WHERE[kind];
  const parts = [
    `${where} ± ${figures(all.position.value)} mm${all.position.dimensions > 1 ? ' in its worst direction' : ''}`,
    all.radius && (all.radius.value > 0 ? `radius ± ${figures(all.radius.value)} mm` : 'radius given'),
    all.length && `length ± ${figures(all.length.value)} mm`,
    all.width && `width ± ${figures(all.width.value)} mm`,
    all.major && `longest radius ± ${figures(all.major.value)} mm`,
    all.minor && `shortest radius ± ${figures(all.minor.value)} mm`,
    all.halfAngle && (all.halfAngle.value > 0 ? `half-angle ± ${degrees(all.halfAngle.value)}` : 'half-angle given'),
    all.direction &&
      all.direction.value > 0 &&
      `${TURNS[kind]} ± ${degrees(all.direction.value)} (${figures(all.direction.overLength)} mm over its length)`,
  ];
  const percent = Number((100 * confidence).toPrecision(4));
  return `${parts.filter(Boolean).join(', ')}; ${percent} %, k = ${all.position.factor.toFixed(1)}`;
}

const WHERE: Record<Uncertainty['kind'], string> = {
  plane: 'along its normal',
  line: 'line',
  point: 'point',
  circle: 'center',
  sphere: 'center',
  cylinder: 'axis',
  cone: 'axis',
  slot: 'center',
  ellipse: 'center',
  frame: 'origin',
};

const TURNS: Partial<Record<Uncertainty['kind'], string>> = {
  plane: 'normal',
  line: 'direction',
  circle: 'normal',
  cylinder: 'direction',
  cone: 'direction',
  slot: 'turn',
  ellipse: 'turn',
  frame: 'axes',
};

/** Two digits, as the uncertainties of a sheet have them (JCGM 100, 7.2.6): `0.070`, `3.0`, `310`. */
function figures(value: number): string {
  const rounded = Number(value.toPrecision(2));
  if (rounded === 0) return '0';
  const decimals = 1 - Math.floor(Math.log10(rounded) + 1e-9);
  return rounded.toFixed(Math.min(9, Math.max(0, decimals)));
}

const degrees = (radians: number): string => `${figures((radians * 180) / Math.PI)}°`;

/** ± of a number made from features, such as a distance or an angle, in its own unit. */
export function expandedNumber(
  { standard, random, degreesOfFreedom }: Pick<NumberUncertainty, 'standard' | 'random' | 'degreesOfFreedom'>,
  confidence = 0.95,
): PlusMinus {
  const degrees = effectiveDegrees(standard ** 2, random ** 2, degreesOfFreedom);
  const factor = studentFactor(confidence, degrees);
  return { value: factor === Infinity ? Infinity : factor * standard, factor, degreesOfFreedom: degrees };
}
