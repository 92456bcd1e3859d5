import { Session } from 'node:inspector/promises';

interface Coverage {
  readonly result: readonly {
    readonly url: string;
    readonly functions: readonly { readonly ranges: readonly { readonly count: number }[] }[];
  }[];
}

const session = new Session();
session.connect();
await session.post('Profiler.enable');
// Functions compiled before this are counted by their calls alone: what is to be counted is imported afterwards.
await session.post('Profiler.startPreciseCoverage', { callCount: true, detailed: true });

/**
 * How often the blocks of packages/io and packages/geom are entered while `work` runs, as the engine's own precise coverage
 * counts them: the body of a loop once a turn. The same on every machine. Built-in functions count as one step.
 */
export async function countedSteps(work: () => Promise<unknown>): Promise<number> {
  // Counts begin anew with each look at them.
  await session.post('Profiler.takePreciseCoverage');
  await work();
  const { result } = (await session.post('Profiler.takePreciseCoverage')) as unknown as Coverage;
  const ours = result.filter(({ url }) => /packages\/(io|geom)\//.test(url));
  const ranges = ours.flatMap(({ functions }) => functions.flatMap((f) => f.ranges));
  return ranges.reduce((sum, { count }) => sum + count, 0);
}
