/** What the command ends with. */
export const EXIT = {
  /** Measured, and every limit holds. */
  passed: 0,
  /** Measured, and a limit or a step failed. */
  failed: 1,
  /** Wrong usage, or an input that cannot be used. */
  refused: 2,
  /** Stopped by Ctrl-C: 128 and the signal's number, as shells have it. */
  interrupted: 130,
} as const;
