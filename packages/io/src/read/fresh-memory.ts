/**
 * Memory a reader fills from its start, shown to whoever can have its pages taken before the reader comes to them: a system gives
 * memory page by page as it is first written, clearing each, and that takes longer than writing the numbers.
 */
export interface FreshMemory {
  readonly bytes: Uint8Array;
  /** Bytes written at most between two calls of {@link MemoryAhead.reach}, where `read` bytes of the file are read between them. */
  between(read: number): number;
  /** Bytes from the start that the reader has written. */
  readonly written: number;
  /** Bytes from the start that are the reader's: whoever goes ahead writes behind them only, and moves the mark when done. */
  settled: number;
}

/** Who takes pages ahead. */
export interface MemoryAhead {
  show(memory: FreshMemory): void;
  /** To be awaited between the writes that {@link FreshMemory.between} tells of. */
  reach(): Promise<void>;
}
