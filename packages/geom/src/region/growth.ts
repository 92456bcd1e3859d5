/** A region that grows: some elements at a time, or all at once. */
export interface Growth {
  /** Goes on over so many elements of its rim, triangles or points; true once there are none left. */
  go(count: number): boolean;
  /** The points reached so far, ascending. */
  points(): Uint32Array;
}
