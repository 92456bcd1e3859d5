/**
 * Memory a reader fills from its start, shown to whoever can have its pages taken before the reader comes to them: a system gives
 * memory page by page as it is first written, clearing each, and that takes longer than writing the numbers.
 */
export interface FreshMemory {
  readonly bytes: Uint8Array;
  /** Bytes the reader writes for a byte read, at most. */
  readonly perByte: number;
  /** Bytes from the start that the reader has written. */
  readonly written: number;
  /** Bytes from the start that are the reader's: whoever goes ahead writes behind them only, and moves the mark when done. */
  settled: number;
}
