import type { Random, Vec3 } from '@fettle/geom';

/**
 * Made scans of known surfaces whose noise is made in ways no estimate here thinks in, and what real scans have besides: passes that meet
 * in a step, passes that overlap in two layers, bows, strays along an edge. All lengths in mm.
 */

/** Points on a surface, their normals, and where they lie on it, laid flat. */
export interface Skin {
  readonly name: string;
  readonly count: number;
  readonly place: readonly Vec3[];
  readonly normal: readonly Vec3[];
  /** Laid flat and measured from the middle, as a share of half the extent either way: −1 to 1. */
  readonly flat: readonly (readonly [number, number])[];
  /** Longest extent. */
  readonly extent: number;
}

/** Share of points left where a scan is uneven: from a tenth at one side to all at the other, in blotches. */
const density = (s: number, t: number): number =>
  0.1 + 0.9 * (0.5 + 0.25 * Math.sin(3 * s + 1) + 0.25 * Math.cos(4 * t));

function skin(
  name: string,
  count: number,
  extent: number,
  isUneven: boolean,
  random: Random,
  at: (s: number, t: number) => readonly [Vec3, Vec3],
  isCurve = false,
): Skin {
  const place: Vec3[] = [];
  const normal: Vec3[] = [];
  const flat: (readonly [number, number])[] = [];
  while (place.length < count) {
    const s = 2 * random.next() - 1;
    const t = isCurve ? 0 : 2 * random.next() - 1;
    if (isUneven && random.next() > density(s, t)) continue;
    const [p, n] = at(s, t);
    place.push(p);
    normal.push(n);
    flat.push([s, t]);
  }
  return { name, count, place, normal, flat, extent };
}

export const planeSkin = (side: number, other: number, count: number, random: Random, isUneven = false): Skin =>
  skin('plane', count, Math.max(side, other), isUneven, random, (s, t) => [
    [(s * side) / 2, (t * other) / 2, 0],
    [0, 0, 1],
  ]);

export const cylinderSkin = (
  radius: number,
  height: number,
  degrees: number,
  count: number,
  random: Random,
  isUneven = false,
): Skin =>
  skin(
    `${degrees}° cylinder`,
    count,
    Math.max(height, radius * Math.min(2, (degrees * Math.PI) / 180)),
    isUneven,
    random,
    (s, t) => {
      const turn = (s * degrees * Math.PI) / 360;
      const n: Vec3 = [Math.cos(turn), Math.sin(turn), 0];
      return [[radius * n[0], radius * n[1], (t * height) / 2], n];
    },
  );

/** A band of a cone about z between two radii; even in area. */
export const coneSkin = (
  small: number,
  large: number,
  halfAngle: number,
  count: number,
  random: Random,
  isUneven = false,
): Skin =>
  skin('cone', count, Math.max(2 * large, (large - small) / Math.sin(halfAngle)), isUneven, random, (s, t) => {
    const [cos, sin] = [Math.cos(halfAngle), Math.sin(halfAngle)];
    const far = Math.sqrt(small ** 2 + ((large ** 2 - small ** 2) * (t + 1)) / 2);
    const turn = s * Math.PI;
    return [
      [far * Math.cos(turn), far * Math.sin(turn), (far * cos) / sin],
      [cos * Math.cos(turn), cos * Math.sin(turn), -sin],
    ];
  });

/** A cap of a sphere, about z; even in area. */
export const sphereSkin = (radius: number, degrees: number, count: number, random: Random, isUneven = false): Skin =>
  skin('sphere', count, radius * Math.min(2, (degrees * Math.PI) / 360), isUneven, random, (s, t) => {
    const turn = s * Math.PI;
    const low = Math.cos((degrees * Math.PI) / 360);
    const z = low + ((1 - low) * (t + 1)) / 2;
    const across = Math.sqrt(1 - z * z);
    const n: Vec3 = [across * Math.cos(turn), across * Math.sin(turn), z];
    return [[radius * n[0], radius * n[1], radius * n[2]], n];
  });

export const circleSkin = (radius: number, degrees: number, count: number, random: Random, isUneven = false): Skin =>
  skin(
    'circle',
    count,
    radius * Math.min(2, (degrees * Math.PI) / 180),
    isUneven,
    random,
    (s) => {
      const turn = (s * degrees * Math.PI) / 360;
      const n: Vec3 = [Math.cos(turn), Math.sin(turn), 0];
      return [[radius * n[0], radius * n[1], 0], n];
    },
    true,
  );

export type FieldKind = 'smoothed' | 'bumps' | 'waves' | 'rough';

/** A field of about unit variance that is alike over `length`, anywhere in space. */
export function fieldOf(kind: FieldKind, length: number, skin: Skin, random: Random): (p: Vec3) => number {
  if (kind === 'smoothed') return smoothedField(length, skin, random);
  if (kind === 'bumps') return bumpField(length, skin, random);
  return waveField(kind, length, random);
}

/** Waves of random direction, drawn from the spectrum of the Gaussian or of the exponential kernel in space. */
function waveField(kind: 'waves' | 'rough', length: number, random: Random): (p: Vec3) => number {
  const count = kind === 'rough' ? 500 : 120;
  const waves = Array.from({ length: count }, () => {
    const over = (kind === 'rough' ? Math.abs(random.normal()) : 1) * length;
    return [random.normal() / over, random.normal() / over, random.normal() / over, 2 * Math.PI * random.next()];
  });
  const scale = Math.sqrt(2 / count);
  return ([x, y, z]) => {
    let sum = 0;
    for (const [a, b, c, d] of waves) sum += Math.cos(a! * x + b! * y + c! * z + d!);
    return scale * sum;
  };
}

/** Round bumps and dents dropped at random places. */
function bumpField(length: number, { place }: Skin, random: Random): (p: Vec3) => number {
  const wide = 2.6 * length;
  const cells = new Map<string, number[][]>();
  const keyOf = (a: number, b: number, c: number): string => `${a},${b},${c}`;
  const seen = new Set<string>();
  for (const p of place) {
    const [a, b, c] = p.map((x) => Math.floor(x / wide)) as [number, number, number];
    for (let k = 0; k < 27; k++) {
      const key = keyOf(a + (k % 3) - 1, b + (Math.floor(k / 3) % 3) - 1, c + Math.floor(k / 9) - 1);
      if (seen.has(key)) continue;
      seen.add(key);
      const corner = key.split(',').map((x) => Number(x) * wide);
      cells.set(
        key,
        Array.from({ length: 6 }, () => [...corner.map((x) => x + wide * random.next()), random.normal()]),
      );
    }
  }
  return (p) => {
    const [a, b, c] = p.map((x) => Math.floor(x / wide)) as [number, number, number];
    let sum = 0;
    for (let k = 0; k < 27; k++) {
      const own = cells.get(keyOf(a + (k % 3) - 1, b + (Math.floor(k / 3) % 3) - 1, c + Math.floor(k / 9) - 1));
      for (const [x, y, z, h] of own ?? []) {
        const far = ((p[0] - x!) ** 2 + (p[1] - y!) ** 2 + (p[2] - z!) ** 2) / wide ** 2;
        if (far < 1) sum += h! * (1 - far) ** 3;
      }
    }
    // Mean square of (1 − r²)³ over a unit ball times 6 bumps a cell: 6 · 4π · ∫ r²(1 − r²)⁶ dr.
    return sum / Math.sqrt(24 * Math.PI * (1024 / 45045));
  };
}

/** White noise on a grid in space, smoothed along each of its axes, and read between the grid's places. */
function smoothedField(length: number, { place }: Skin, random: Random): (p: Vec3) => number {
  const step = length / 2.5;
  const half = 7;
  const low = [0, 1, 2].map((a) => place.reduce((least, p) => Math.min(least, p[a]!), Infinity) - 2 * step);
  const n = [0, 1, 2].map(
    (a) => Math.ceil((place.reduce((most, p) => Math.max(most, p[a]!), -Infinity) - low[a]!) / step) + 4,
  );
  let grid = Float64Array.from({ length: n[0]! * n[1]! * n[2]! }, () => random.normal());
  const weights = Array.from({ length: 2 * half + 1 }, (_, k) => Math.exp(-(((k - half) * step) ** 2) / length ** 2));
  const stride = [1, n[0]!, n[0]! * n[1]!];
  for (const a of [0, 1, 2]) {
    const next = new Float64Array(grid.length);
    for (let i = 0; i < grid.length; i++) {
      const at = Math.floor(i / stride[a]!) % n[a]!;
      let sum = 0;
      let squares = 0;
      for (let k = -half; k <= half; k++) {
        if (at + k < 0 || at + k >= n[a]!) continue;
        sum += weights[k + half]! * grid[i + k * stride[a]!]!;
        squares += weights[k + half]! ** 2;
      }
      next[i] = sum / Math.sqrt(squares);
    }
    grid = next;
  }
  return (p) => {
    const at = p.map((x, a) => (x - low[a]!) / step);
    const cell = at.map(Math.floor);
    let sum = 0;
    for (let k = 0; k < 8; k++) {
      let weight = 1;
      let place = 0;
      for (const a of [0, 1, 2]) {
        const over = (k >> a) & 1;
        const share = at[a]! - cell[a]!;
        weight *= over ? share : 1 - share;
        place += (cell[a]! + over) * stride[a]!;
      }
      sum += weight * grid[place]!;
    }
    return sum;
  };
}

export interface NoiseMade {
  readonly kind: FieldKind | 'white' | 'heavy';
  /** Standard deviation of all of it. */
  readonly sigma: number;
  /** Of what is alike over lengths. */
  readonly length?: number;
  /** Share of the variance that is white. Default 0.3. */
  readonly white?: number;
}

/** The noise at each point of a skin. `heavy`: Student's t with 3 degrees of freedom. */
export function noiseOn(skin: Skin, made: NoiseMade, random: Random): Float64Array {
  const { kind, sigma, length = 0, white = 0.3 } = made;
  if (kind === 'white') return Float64Array.from({ length: skin.count }, () => sigma * random.normal());
  if (kind === 'heavy') {
    const t = (): number =>
      random.normal() / Math.sqrt((random.normal() ** 2 + random.normal() ** 2 + random.normal() ** 2) / 3);
    return Float64Array.from({ length: skin.count }, () => (sigma / Math.sqrt(3)) * t());
  }
  const field = fieldOf(kind, length, skin, random);
  const [own, alike] = [sigma * Math.sqrt(white), sigma * Math.sqrt(1 - white)];
  return Float64Array.from(skin.place, (p) => alike * field(p) + own * random.normal());
}

/** Whether a point lies beyond a cut through the skin: a line, an arc or a wave, which leaves at least a fifth on each side. */
export function randomCut(skin: Skin, random: Random): (i: number) => boolean {
  for (;;) {
    const turn = 2 * Math.PI * random.next();
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const off = 1.2 * (random.next() - 0.5);
    const bend = [0, 0.35 * (random.next() - 0.5), 0][random.below(3)]!;
    const wave = random.below(3) === 0 ? 0.08 : 0;
    const phase = 6 * random.next();
    const beyond = (i: number): boolean => {
      const [x, y] = skin.flat[i]!;
      const along = c * x + s * y;
      const across = -s * x + c * y;
      return across > off + bend * along * along + wave * Math.sin(3 * along + phase);
    };
    let count = 0;
    for (let i = 0; i < skin.count; i++) if (beyond(i)) count++;
    if (count > 0.2 * skin.count && count < 0.8 * skin.count) return beyond;
  }
}

/** Whether a point lies where a second pass overlaps: a strip, a half or a disc that holds 20 to 60 % of the points. */
export function randomOverlap(skin: Skin, random: Random): (i: number) => boolean {
  for (;;) {
    const turn = 2 * Math.PI * random.next();
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const isDisc = random.below(3) === 0;
    const [low, wide] = [1.8 * random.next() - 1, 0.4 + random.next()];
    const [x0, y0] = [random.next() - 0.5, random.next() - 0.5];
    const within = (i: number): boolean => {
      const [x, y] = skin.flat[i]!;
      if (isDisc) return (x - x0) ** 2 + (y - y0) ** 2 < wide ** 2;
      const across = -s * x + c * y;
      return across > low && across < low + wide;
    };
    let count = 0;
    for (let i = 0; i < skin.count; i++) if (within(i)) count++;
    if (count > 0.2 * skin.count && count < 0.6 * skin.count) return within;
  }
}

/** The scan: each point moved along its normal by its noise and by what `lift` gives it. */
export function scanOf(skin: Skin, noise: Float64Array, lift?: (i: number) => number): Float64Array {
  const positions = new Float64Array(3 * skin.count);
  for (let i = 0; i < skin.count; i++) {
    const by = noise[i]! + (lift ? lift(i) : 0);
    for (let a = 0; a < 3; a++) positions[3 * i + a] = skin.place[i]![a]! + by * skin.normal[i]![a]!;
  }
  return positions;
}
