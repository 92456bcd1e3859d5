import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { ProgressLine } from '../../packages/io/src/node/progress-line.js';

/** A terminal of some width, with what was written to it. */
const terminal = (columns: number, isTTY = true) => {
  const written: string[] = [];
  const write = (text: string | Uint8Array): boolean => written.push(String(text)) > 0;
  return { isTTY, columns, write, written };
};

const RETURN_AND_ERASE = '\r\u001b[K';

describe('the progress line', () => {
  beforeEach(() => void vi.useFakeTimers());
  afterEach(() => void vi.useRealTimers());

  test('is not there where the output is no terminal', () => {
    const file = terminal(80, false);
    const line = new ProgressLine(file);
    line.show('reading');
    line.showNow('measuring');
    line.clear();
    vi.runAllTimers();
    expect(file.written).toEqual([]);
  });

  test('replaces itself, and goes without a trace', () => {
    const screen = terminal(80);
    const line = new ProgressLine(screen);
    line.show('reading');
    vi.advanceTimersByTime(1000);
    line.show('measuring');
    line.clear();
    expect(screen.written).toEqual([`${RETURN_AND_ERASE}reading`, `${RETURN_AND_ERASE}measuring`, RETURN_AND_ERASE]);
  });

  test('of many in a moment the first is shown at once and the last soon after', () => {
    const screen = terminal(80);
    const line = new ProgressLine(screen);
    for (let step = 1; step <= 1000; step++) line.show(`step ${step}`);
    expect(screen.written).toEqual([`${RETURN_AND_ERASE}step 1`]);
    vi.advanceTimersByTime(200);
    expect(screen.written).toEqual([`${RETURN_AND_ERASE}step 1`, `${RETURN_AND_ERASE}step 1000`]);
  });

  test('a line taken away does not come back', () => {
    const screen = terminal(80);
    const line = new ProgressLine(screen);
    line.show('step 1');
    line.show('step 2');
    line.clear();
    vi.advanceTimersByTime(200);
    expect(screen.written.at(-1)).toBe(RETURN_AND_ERASE);
  });

  test('is no longer than the terminal is wide', () => {
    const screen = terminal(20);
    new ProgressLine(screen).show('pump.ply: step 3 of 14, bolt-hole');
    expect(screen.written).toEqual([`${RETURN_AND_ERASE}pump.ply: step 3 o…`]);
  });
});
