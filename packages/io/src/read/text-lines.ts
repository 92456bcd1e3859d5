/**
 * Where the whole lines among the first `have` bytes end: behind the last line feed, or, in a text that has none (old Mac
 * files), behind the last carriage return that cannot be half of a pair. 0 if no line is whole.
 */
export function endOfLines(bytes: Uint8Array, have: number): number {
  for (let i = have; i > 0; i--) if (bytes[i - 1] === 10) return i;
  for (let i = have - 1; i > 0; i--) if (bytes[i - 1] === 13) return i;
  return 0;
}

/** The place behind the line that holds byte `at`; line feed, carriage return or the pair end a line. */
export function nextLine(bytes: Uint8Array, at: number): number {
  let i = at;
  while (bytes[i] !== 10 && bytes[i] !== 13) i++;
  return bytes[i] === 13 && bytes[i + 1] === 10 ? i + 2 : i + 1;
}

/** Blank within a line: space, tab, vertical tab and form feed. Other control characters stand in no honest text. */
export const isBlank = (c: number): boolean => c === 32 || c === 9 || c === 11 || c === 12;
