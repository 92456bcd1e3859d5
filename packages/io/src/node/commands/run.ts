/** Runs the work of a subcommand and keeps its exit code; errors are reported. */
export type Run = (work: () => Promise<number>) => Promise<void>;
