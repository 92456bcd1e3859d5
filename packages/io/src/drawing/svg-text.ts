import type { Vec2 } from '@fettle/geom';

/** Sans serif lettering, in the order in which machines have it. */
export const FONT = 'Arial, Helvetica, Liberation Sans, DejaVu Sans, sans-serif';

/**
 * Widths of characters in heights of the letter's em, a little more than the widest of {@link FONT} needs, so that a box computed here
 * holds the text whichever of them is there.
 */
const WIDE = 1.02;
const PLAIN = 0.68;
const DIGIT = 0.64;
const NARROW = 0.4;

/** Size of lettering by the height of its capitals, as ISO 3098 states it: an em is 1/0.72 of that. */
const emOf = (capitals: number): number => capitals / 0.72;

/** Width a text takes at most, in the unit of `capitals`, the height of its capital letters. */
export function widthOfText(text: string, capitals: number): number {
  let width = 0;
  for (const character of text) width += widthOf(character);
  return width * emOf(capitals);
}

const widthOf = (character: string): number => {
  if (/[mwMW@%⌀±→—]/.test(character)) return WIDE;
  if (/[ijlt.,:;'|!()[\]\- fI]/.test(character)) return NARROW;
  return /\d/.test(character) ? DIGIT : PLAIN;
};

/** Text safe inside elements and attributes of XML: marks escaped, control characters out. */
export const escaped = (text: string): string =>
  text
    .replaceAll(/[\p{Cc}\p{Cs}\uFFFE\uFFFF]/gu, ' ')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');

export interface TextLook {
  /** Height of capitals, mm. */
  readonly size: number;
  readonly align?: 'start' | 'middle' | 'end';
  readonly bold?: boolean;
  /** Degrees, clockwise on the sheet, about the place of the text. */
  readonly turn?: number;
}

/** A line of text, its baseline at a place. */
export function textElement(text: string, [x, y]: Vec2, { size, align = 'start', bold, turn }: TextLook): string {
  const turned = turn ? ` transform="rotate(${turn} ${num(x)} ${num(y)})"` : '';
  const weight = bold ? ' font-weight="bold"' : '';
  return (
    `<text class="ink" x="${num(x)}" y="${num(y)}" font-size="${num(emOf(size))}" text-anchor="${align}"${weight}` +
    `${turned} fill="#16191d">${escaped(text)}</text>`
  );
}

/** A length on paper to a ten-thousandth of a mm. */
export const num = (value: number): string => String(Number(value.toFixed(4)));
