import { FettleError } from '@fettle/geom';
import { countText } from '../text/number-text.js';
import type { ByteWindow } from './byte-window.js';
import type { ReadContext } from './reader.js';

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

/**
 * Reads the last line of a text where it has no line end, with a warning: it may be cut short, even where it reads well. One that
 * does not is left out where the whole of a file cut short is asked for.
 *
 * @param lines how many the reader has counted
 */
export function readLastLine(window: ByteWindow, context: ReadContext, lines: () => number): void {
  const { name, keepWhole, warnings } = context;
  if (window.lastByte < 0) return;
  const number = countText(lines() + 1);
  window.terminate(10);
  try {
    window.end();
    warnings.push({
      code: 'no-line-end',
      message: `${name}: line ${number}, the last, has no line end: the file may be cut short.`,
    });
  } catch (error) {
    if (!keepWhole || !(error instanceof FettleError)) throw error;
    warnings.push({ code: 'cut-short', message: `${name}: line ${number}, the last, is cut short: left out.` });
  }
}
