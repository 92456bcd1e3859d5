/** Numbers as people read them in messages. */

/** `120,331` */
export const countText = (count: number): string => count.toLocaleString('en-US');

/** `12.31 mm`, `0.0042 mm`, `1,235 mm`: four digits. */
export const lengthText = (mm: number): string =>
  `${mm.toLocaleString('en-US', { maximumSignificantDigits: mm >= 1000 && mm < 1e15 ? Math.ceil(Math.log10(mm)) : 4 })} mm`;

/** `(12.31, -4.5, 0) mm` */
export const placeText = (p: ArrayLike<number>): string =>
  `(${Array.from(p, (c) => c.toLocaleString('en-US', { maximumFractionDigits: 3 })).join(', ')}) mm`;

/** `(0, 0, NaN)`, `undefined`: a value as it was given, whatever it is. */
export const givenText = (value: unknown): string => (Array.isArray(value) ? `(${value.join(', ')})` : String(value));
