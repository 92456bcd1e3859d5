/** Regions put together and taken apart. Each is a set of point indices in any order; results are ascending, each index once. */

/** The points in any of the regions. */
export const regionUnion = (...regions: readonly Uint32Array[]): Uint32Array =>
  whereMarked(regions, (marks) => {
    for (const region of regions) for (let i = 0; i < region.length; i++) marks[region[i]] = 1;
  });

/** The points in all of the regions. */
export const regionIntersect = (first: Uint32Array, ...others: readonly Uint32Array[]): Uint32Array =>
  whereMarked([first], (marks) => {
    for (let i = 0; i < first.length; i++) marks[first[i]] = 1;
    for (const region of others) {
      for (let i = 0; i < region.length; i++) if (marks[region[i]] === 1) marks[region[i]] = 2;
      for (let p = 0; p < marks.length; p++) marks[p] = marks[p] === 2 ? 1 : 0;
    }
  });

/** The points of a region that are in none of the others. */
export const regionWithout = (region: Uint32Array, ...others: readonly Uint32Array[]): Uint32Array =>
  whereMarked([region], (marks) => {
    for (let i = 0; i < region.length; i++) marks[region[i]] = 1;
    for (const other of others) for (let i = 0; i < other.length; i++) if (other[i] < marks.length) marks[other[i]] = 0;
  });

function whereMarked(regions: readonly Uint32Array[], mark: (marks: Uint8Array) => void): Uint32Array {
  let room = 0;
  for (const region of regions) for (let i = 0; i < region.length; i++) if (region[i] >= room) room = region[i] + 1;
  const marks = new Uint8Array(room);
  mark(marks);
  let count = 0;
  for (let p = 0; p < room; p++) count += marks[p];
  const found = new Uint32Array(count);
  for (let p = 0, n = 0; p < room; p++) if (marks[p] === 1) found[n++] = p;
  return found;
}
