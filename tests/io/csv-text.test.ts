import { expect, test } from 'vitest';
import { csvLine } from '../../packages/io/src/report/csv-text.js';

// Which beginnings a spreadsheet takes for a formula, and what makes them text: OWASP, CSV Injection.
test.each([
  ['=1+1', "'=1+1"],
  ['+1+1', "'+1+1"],
  ['-1+1', "'-1+1"],
  ['@SUM(A1)', "'@SUM(A1)"],
  ['\t=1+1', "'\t'=1+1"],
  ['\r=1+1', '"\'\r=1+1"'],
  ['\uff1d1+1', "'\uff1d1+1"],
  ['=HYPERLINK("a","b")', '"\'=HYPERLINK(""a"",""b"")"'],
  // With semicolons between cells a new one begins here.
  ['left;=1+1', "left;'=1+1"],
  ['left; @SUM(A1)', "left; '@SUM(A1)"],
])('%j is text', (field, written) => {
  expect(csvLine([field])).toBe(`${written}\r\n`);
});

test.each(['-0.018', '+5', '12', '-.5', '1e-7', '-1.5E+3', '0.000'])('%s is a number', (field) => {
  expect(csvLine([field, Number(field)])).toBe(`${field},${Number(field)}\r\n`);
});

test('words with such characters inside are left as they are', () => {
  const words = ['x = 5', 'left-hole', 'a@b', 'k = 2.0; 95 %', 'two\nlines'];
  expect(csvLine(words)).toBe('x = 5,left-hole,a@b,k = 2.0; 95 %,"two\nlines"\r\n');
});
