/** One line of a benchmark's table: what was measured, beside its peer in the same run, and the bound it is held to. */
export interface Row {
  readonly what: string;
  /** Ours, with its unit: `24 ms`, `0.2 GB`, `94.6 %`. */
  readonly ours: string;
  /** The named peer's figure, with its name: `three OBJLoader 18,400 ms`. */
  readonly peer?: string;
  /** Peer over ours: `31×`. */
  readonly ratio?: string;
  /** The bound in words: `at least 15×`, `under 30 ms`. */
  readonly bound: string;
  readonly held: boolean;
}

/**
 * A file in `tasks/` exports one of these as `task`. Each runs in a process of its own (memory figures do not mix),
 * with `global.gc` exposed.
 */
export interface Task {
  readonly title: string;
  /** Takes minutes rather than seconds: runs only when it is named, or with `--all`. */
  readonly long?: boolean;
  run(): Promise<readonly Row[]>;
}

/** Median wall time of `work` in ms over `times` runs, after one run to warm up. */
export async function milliseconds(work: () => unknown, times = 5): Promise<number> {
  await work();
  const seen: number[] = [];
  for (let i = 0; i < times; i++) {
    globalThis.gc?.();
    const start = performance.now();
    await work();
    seen.push(performance.now() - start);
  }
  seen.sort((a, b) => a - b);
  return seen[seen.length >> 1];
}

/**
 * Median wall times of short works in ms, taken in turn over `times` rounds, after as many to warm up. Without a collection before
 * each run, which has the engine throw away code that it then compiles anew: milliseconds, of works of ten.
 */
export function millisecondsInTurn(works: readonly (() => unknown)[], times: number): number[] {
  const seen: number[][] = works.map(() => []);
  globalThis.gc?.();
  for (let round = 0; round < 2 * times; round++) {
    works.forEach((work, w) => {
      const start = performance.now();
      work();
      if (round >= times) seen[w]!.push(performance.now() - start);
    });
  }
  return seen.map((own) => own.sort((a, b) => a - b)[times >> 1]!);
}

/** `1,234 ms`, `24.1 ms`. */
export const inMs = (ms: number): string =>
  `${ms.toLocaleString('en-US', { maximumFractionDigits: ms < 100 ? 1 : 0 })} ms`;

/** `31×`, `1.4×`. */
export const asRatio = (ratio: number): string =>
  `${ratio.toLocaleString('en-US', { maximumFractionDigits: ratio < 10 ? 1 : 0 })}×`;
