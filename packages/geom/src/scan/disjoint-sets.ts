/**
 * Sets of numbers that are merged and never split (union by index with path halving: Tarjan & van Leeuwen, J. ACM 31 (1984)).
 * The smaller number stands for its set, so the result does not depend on the order of the merges.
 */
export class DisjointSets {
  readonly parent: Uint32Array;

  constructor(count: number) {
    this.parent = new Uint32Array(count);
    for (let i = 0; i < count; i++) this.parent[i] = i;
  }

  /** The number that stands for the set of `i`. */
  find(i: number): number {
    const { parent } = this;
    let p = parent[i];
    while (p !== i) {
      const g = parent[p];
      parent[i] = g;
      i = g;
      p = parent[i];
    }
    return i;
  }

  merge(i: number, j: number): void {
    const a = this.find(i);
    const b = this.find(j);
    if (a < b) this.parent[b] = a;
    else if (b < a) this.parent[a] = b;
  }
}
