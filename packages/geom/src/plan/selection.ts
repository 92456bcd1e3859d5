/** Point indices put together and taken apart, always ascending and each once. `count` is that of the scan's points. */

const marked = (count: number, selections: readonly Uint32Array[]): Uint8Array => {
  const marks = new Uint8Array(count);
  for (const selection of selections) for (let i = 0; i < selection.length; i++) marks[selection[i]] = 1;
  return marks;
};

const whereMarked = (marks: Uint8Array): Uint32Array => {
  let count = 0;
  for (let i = 0; i < marks.length; i++) count += marks[i];
  const found = new Uint32Array(count);
  for (let i = 0, n = 0; i < marks.length; i++) if (marks[i] === 1) found[n++] = i;
  return found;
};

/** The points in any of them. */
export const joined = (count: number, selections: readonly Uint32Array[]): Uint32Array =>
  whereMarked(marked(count, selections));

/** The points of a selection that are in another. */
export function within(count: number, selection: Uint32Array, other: Uint32Array): Uint32Array {
  const marks = marked(count, [other]);
  return selection.filter((point) => marks[point] === 1);
}

/** The points of a selection that are in none of the others. */
export function without(count: number, selection: Uint32Array, others: readonly Uint32Array[]): Uint32Array {
  const marks = marked(count, others);
  return selection.filter((point) => marks[point] === 0);
}
