import { digits } from '../text/shortest-number.js';

/** How ISO 10303-21 writes single values. */

/** Characters that stand for themselves: ISO 10303-21, 6.4.3.1, those of ISO 8859-1 from 20 to 7E but apostrophe and backslash. */
const plain = /^[ !-&(-[\]-~]$/;

const hexadecimal = (code: number, digits: number): string => code.toString(16).toUpperCase().padStart(digits, '0');

/**
 * A string: apostrophes and backslashes doubled, runs of other characters as `\X2\…\X0\` with four digits each, those beyond the
 * basic plane as `\X4\…\X0\` with eight, control characters as `\X\hh`. Halves of broken surrogate pairs become U+FFFD.
 */
export function stringText(text: string): string {
  let out = '';
  let open = '';
  const close = (next: '' | 'X2' | 'X4') => {
    if (open === next) return;
    if (open !== '') out += '\\X0\\';
    if (next !== '') out += `\\${next}\\`;
    open = next;
  };
  for (const character of text) {
    const code = wellFormed(character.codePointAt(0)!);
    if (code < 0x20 || code === 0x7f) {
      close('');
      out += `\\X\\${hexadecimal(code, 2)}`;
    } else if (code < 0x7f) {
      close('');
      out += plain.test(character) ? character : character + character;
    } else if (code <= 0xffff) {
      close('X2');
      out += hexadecimal(code, 4);
    } else {
      close('X4');
      out += hexadecimal(code, 8);
    }
  }
  close('');
  return `'${out}'`;
}

/** Half a surrogate pair stands for nothing. */
const wellFormed = (code: number): number => (code >= 0xd800 && code <= 0xdfff ? 0xfffd : code);

/** A real: the fewest digits that give the double back, with the decimal point that tells it from an integer: `1.`, `2.5E-7`. */
export function realText(x: number): string {
  const text = digits(x === 0 ? 0 : x);
  const [mantissa, exponent] = text.split('e') as [string, string?];
  const real = mantissa.includes('.') ? mantissa : `${mantissa}.`;
  return exponent === undefined ? real : `${real}E${exponent.replace('+', '')}`;
}

/** `(a,b,c)` */
export const listText = (values: readonly string[]): string => `(${values.join(',')})`;
