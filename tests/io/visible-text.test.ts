import { expect, test } from 'vitest';
import { plainLines, plainText } from '../../packages/io/src/text/visible-text.js';

// Control pictures: The Unicode Standard, 2400 to 2421. Sequences: ECMA-48 (CSI is ESC [ or 9B, OSC is ESC ]).
test.each([
  ['\u001b[31mred', '\u241b[31mred'],
  ['\u009b31mred', '<U+009B>31mred'],
  ['\u001b]0;title\u0007', '\u241b]0;title\u2407'],
  ['over\bwritten\u007f', 'over\u2408written\u2421'],
  ['pump\u202eylp.exe', 'pump<U+202E>ylp.exe'],
  ['Flansch ∅ 18 – links', 'Flansch ∅ 18 – links'],
])('%j is shown as it is', (text, shown) => {
  expect(plainText(text)).toBe(shown);
  expect(plainLines(text)).toBe(shown);
});

test('white space that moves the cursor is a space in a line of text, and lines stay lines in a text of lines', () => {
  expect(plainText('one\r\ntwo\tthree')).toBe('one two three');
  expect(plainLines('one\r\ntwo\n')).toBe('one\u240d\ntwo\n');
});
