/** Places of the 1s (or of the 0s) among marks. */
export function marked(marks: Uint8Array, mark: 0 | 1 = 1): Uint32Array {
  let count = 0;
  for (let i = 0; i < marks.length; i++) if (marks[i] === mark) count++;
  const found = new Uint32Array(count);
  for (let i = 0, n = 0; i < marks.length; i++) if (marks[i] === mark) found[n++] = i;
  return found;
}

/** A mark of 1 for each of `count` points or triangles. */
export const allMarked = (count: number): Uint8Array => new Uint8Array(count).fill(1);
