/** A seeded source of random numbers: the same seed gives the same numbers on every machine. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform integer in [0, n). */
  below(n: number): number;
  /** Standard normal deviate (Marsaglia's polar method). */
  normal(): number;
}

/** sfc32, a small fast counting generator (C. Doty-Humphrey, PractRand; passes its full battery). */
export function seededRandom(seed: number): Random {
  let a = seed | 0;
  let b = 0x9e3779b9 | 0;
  let c = 0x243f6a88 | 0;
  let counter = 1;
  const bits = (): number => {
    const t = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return t >>> 0;
  };
  for (let i = 0; i < 15; i++) bits();
  const next = (): number => ((bits() >>> 5) * 67108864 + (bits() >>> 6)) / 9007199254740992;
  let spare = Number.NaN;
  return {
    next,
    below: (n) => Math.floor(next() * n),
    normal: () => {
      if (!Number.isNaN(spare)) {
        const s = spare;
        spare = Number.NaN;
        return s;
      }
      for (;;) {
        const u = 2 * next() - 1;
        const v = 2 * next() - 1;
        const s = u * u + v * v;
        if (s >= 1 || s === 0) continue;
        const f = Math.sqrt((-2 * Math.log(s)) / s);
        spare = v * f;
        return u * f;
      }
    },
  };
}
