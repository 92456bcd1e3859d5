import type { Rigid } from './rigid.js';

/** Oriented places: a few hundred to a thousand pieces of a surface. */
export interface Oriented {
  readonly size: number;
  /** xyz xyz …, mm. */
  readonly middle: Float64Array;
  readonly normal: Float64Array;
}

/** A pose that many pairs of places agree on. */
export interface Hypothesis {
  /** Scan to reference. */
  readonly motion: Rigid;
  readonly votes: number;
}

/** Classes of angle over half a turn, and of the turn about a normal. */
const ANGLES = 12;
const TURNS = 36;
/** Pairs of one class looked at: of more every so many-th. */
const MOST_ALIKE = 300;
/** Peaks taken for each place of the scan, if they have this share of its highest. */
const PEAKS = 5;
const PEAK_SHARE = 0.75;

/** All pairs of places of the reference, by what a rigid motion leaves as it is. */
export class PairTable {
  readonly #of: Oriented;
  readonly #step: number;
  readonly #lengths: number;
  readonly #start: Uint32Array;
  readonly #first: Uint16Array;
  readonly #turn: Float32Array;
  readonly #axes: Float64Array;

  /**
   * @param of the reference; normals that face out of the body or either way
   * @param step class width of distances, mm
   */
  constructor(of: Oriented, step: number) {
    const { size, middle } = of;
    this.#of = of;
    this.#step = step;
    let reach = 0;
    for (let i = 0; i < size; i++)
      for (let j = 0; j < i; j++) reach = Math.max(reach, squareBetween(middle, i, middle, j));
    this.#lengths = Math.floor(Math.sqrt(reach) / step) + 1;
    const classes = this.#lengths * ANGLES * ANGLES * ANGLES;
    this.#start = new Uint32Array(classes + 1);
    this.#axes = axesOf(of);
    const keys = new Int32Array(size * size);
    for (let i = 0; i < size; i++)
      for (let j = 0; j < size; j++) {
        const key = i === j ? -1 : this.#key(of, i, j, 1, 1);
        keys[i * size + j] = key;
        if (key >= 0) this.#start[key + 1]++;
      }
    for (let k = 0; k < classes; k++) this.#start[k + 1] += this.#start[k];
    const count = this.#start[classes];
    this.#first = new Uint16Array(count);
    this.#turn = new Float32Array(count);
    const fill = this.#start.slice();
    for (let i = 0; i < size; i++)
      for (let j = 0; j < size; j++) {
        const key = keys[i * size + j];
        if (key < 0) continue;
        const at = fill[key]++;
        this.#first[at] = i;
        this.#turn[at] = turnAbout(this.#axes, middle, i, j, 1);
      }
  }

  /** Distance and three angles in classes; −1 for pairs too near or farther than any of the reference. */
  #key(of: Oriented, i: number, j: number, si: number, sj: number): number {
    const { middle, normal } = of;
    const dx = middle[3 * j] - middle[3 * i];
    const dy = middle[3 * j + 1] - middle[3 * i + 1];
    const dz = middle[3 * j + 2] - middle[3 * i + 2];
    const d = Math.sqrt(dx * dx + dy * dy + dz * dz);
    const length = Math.floor(d / this.#step);
    if (length < 2 || length >= this.#lengths) return -1;
    const ni = 3 * i;
    const nj = 3 * j;
    const a = (si * (normal[ni] * dx + normal[ni + 1] * dy + normal[ni + 2] * dz)) / d;
    const b = (sj * (normal[nj] * dx + normal[nj + 1] * dy + normal[nj + 2] * dz)) / d;
    const c = si * sj * (normal[ni] * normal[nj] + normal[ni + 1] * normal[nj + 1] + normal[ni + 2] * normal[nj + 2]);
    return ((length * ANGLES + angleClass(a)) * ANGLES + angleClass(b)) * ANGLES + angleClass(c);
  }

  /**
   * Votes of pairs of the scan: each pair, with each pair of the reference of its class, is for one place of the reference and one turn
   * about its normal.
   *
   * @param first places of the scan taken for the first of a pair
   * @param signs that normals of the scan may have: 1 alone where those of scan and reference face out
   */
  hypotheses(scan: Oriented, first: ArrayLike<number>, signs: readonly number[]): Hypothesis[] {
    const found: Hypothesis[] = [];
    const axes = axesOf(scan);
    const votes = new Float32Array(this.#of.size * TURNS);
    for (const i of Array.from(first))
      for (const si of signs) {
        votes.fill(0);
        for (let j = 0; j < scan.size; j++) {
          if (i === j) continue;
          for (const sj of signs) this.#vote(scan, axes, i, j, si, sj, votes);
        }
        this.#peaks(scan, axes, i, si, votes, found);
      }
    return found;
  }

  #vote(scan: Oriented, axes: Float64Array, i: number, j: number, si: number, sj: number, votes: Float32Array): void {
    const key = this.#key(scan, i, j, si, sj);
    if (key < 0) return;
    const from = this.#start[key];
    const until = this.#start[key + 1];
    if (from === until) return;
    const turn = turnAbout(axes, scan.middle, i, j, si);
    const stride = Math.max(1, (until - from) / MOST_ALIKE);
    // A pair that is like many tells little.
    const weight = stride / Math.sqrt(until - from);
    for (let k = from; k < until; k += stride) {
      const at = Math.floor(k);
      let difference = (this.#turn[at] - turn) / (2 * Math.PI);
      difference -= Math.floor(difference);
      votes[this.#first[at] * TURNS + (Math.floor(difference * TURNS) % TURNS)] += weight;
    }
  }

  #peaks(scan: Oriented, axes: Float64Array, i: number, si: number, votes: Float32Array, found: Hypothesis[]): void {
    const tops: { at: number; votes: number }[] = [];
    for (let m = 0; m < this.#of.size; m++)
      for (let k = 0; k < TURNS; k++) {
        // A peak between two classes is in both.
        const own = votes[m * TURNS + k] + votes[m * TURNS + ((k + 1) % TURNS)];
        if (tops.length === PEAKS && own <= tops[PEAKS - 1].votes) continue;
        tops.push({ at: m * TURNS + k, votes: own });
        tops.sort((a, b) => b.votes - a.votes);
        if (tops.length > PEAKS) tops.pop();
      }
    for (const top of tops) {
      if (top.votes < PEAK_SHARE * tops[0].votes || top.votes <= 0) continue;
      const m = Math.floor(top.at / TURNS);
      const turn = (2 * Math.PI * ((top.at % TURNS) + 1)) / TURNS;
      found.push({ motion: poseOf(this.#axes, this.#of.middle, m, axes, scan.middle, i, si, turn), votes: top.votes });
    }
  }
}

const angleClass = (cosine: number): number =>
  Math.min(ANGLES - 1, Math.floor((Math.acos(Math.max(-1, Math.min(1, cosine))) / Math.PI) * ANGLES));

function squareBetween(a: Float64Array, i: number, b: Float64Array, j: number): number {
  const dx = a[3 * i] - b[3 * j];
  const dy = a[3 * i + 1] - b[3 * j + 1];
  const dz = a[3 * i + 2] - b[3 * j + 2];
  return dx * dx + dy * dy + dz * dz;
}

/** Two directions square to each normal w, u × v = w: six numbers a place. */
function axesOf({ size, normal }: Oriented): Float64Array {
  const axes = new Float64Array(9 * size);
  for (let i = 0; i < size; i++) {
    const [x, y, z] = [normal[3 * i], normal[3 * i + 1], normal[3 * i + 2]];
    const sign = z >= 0 ? 1 : -1;
    const a = -1 / (sign + z);
    const b = x * y * a;
    axes.set([1 + sign * x * x * a, sign * b, -sign * x, b, sign + y * y * a, -y, x, y, z], 9 * i);
  }
  return axes;
}

/** Turn about the normal of place i, or against it, at which place j stands, radians. */
function turnAbout(axes: Float64Array, middle: Float64Array, i: number, j: number, sign: number): number {
  const dx = middle[3 * j] - middle[3 * i];
  const dy = middle[3 * j + 1] - middle[3 * i + 1];
  const dz = middle[3 * j + 2] - middle[3 * i + 2];
  const o = 9 * i;
  const u = axes[o] * dx + axes[o + 1] * dy + axes[o + 2] * dz;
  const v = axes[o + 3] * dx + axes[o + 4] * dy + axes[o + 5] * dz;
  return Math.atan2(sign * v, u);
}

/** The motion that lays place i of the scan, with its normal, on place m of the reference, turned about the normal. */
function poseOf(
  refAxes: Float64Array,
  refMiddle: Float64Array,
  m: number,
  axes: Float64Array,
  middle: Float64Array,
  i: number,
  sign: number,
  turn: number,
): Rigid {
  const c = Math.cos(turn);
  const s = Math.sin(turn);
  const r = new Float64Array(9);
  const a = 9 * m;
  const b = 9 * i;
  // Scan axes u, sign·v, sign·w go onto c·u + s·v, −s·u + c·v, w of the reference.
  for (let k = 0; k < 3; k++) {
    const u = c * refAxes[a + k] + s * refAxes[a + 3 + k];
    const v = -s * refAxes[a + k] + c * refAxes[a + 3 + k];
    const w = refAxes[a + 6 + k];
    for (let l = 0; l < 3; l++) r[3 * k + l] = u * axes[b + l] + sign * (v * axes[b + 3 + l] + w * axes[b + 6 + l]);
  }
  const t = new Float64Array(3);
  for (let k = 0; k < 3; k++)
    t[k] =
      refMiddle[3 * m + k] -
      (r[3 * k] * middle[3 * i] + r[3 * k + 1] * middle[3 * i + 1] + r[3 * k + 2] * middle[3 * i + 2]);
  return { r, t };
}
