/**
 * Stretches of a file shared out between two threads: one takes them from the front, in order, the other from the back, until they
 * meet. How many the first has is in the low half of a shared number, where those of the other begin in the high half.
 */
export class StretchClaims {
  readonly shared: Int32Array;

  /** @param shared of another thread's claims; absent, of as many stretches as told */
  constructor(stretches: number, shared?: Int32Array) {
    this.shared = shared ?? Int32Array.of(0);
    if (shared !== undefined) return;
    this.shared = new Int32Array(new SharedArrayBuffer(4));
    this.shared[0] = stretches << 16;
  }

  /** The next stretch from the front, or -1 if none is left. */
  takeFirst(): number {
    return this.#take((front, back) => [front + 1, back, front]);
  }

  /** The next stretch from the back, or -1. */
  takeLast(): number {
    return this.#take((front, back) => [front, back - 1, back - 1]);
  }

  #take(next: (front: number, back: number) => readonly [front: number, back: number, taken: number]): number {
    for (;;) {
      const seen = Atomics.load(this.shared, 0);
      const [front, back] = [seen & 0xffff, seen >>> 16];
      if (front >= back) return -1;
      const [nextFront, nextBack, taken] = next(front, back);
      const wanted = (nextBack << 16) | nextFront;
      if (Atomics.compareExchange(this.shared, 0, seen, wanted) === seen) return taken;
    }
  }
}

/** Most stretches that can be shared out. */
export const MOST_STRETCHES = 0xffff;
