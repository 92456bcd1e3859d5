/** Control characters (C0, DEL, C1), those that turn the direction of writing, and line separators of Unicode. */
const STEERING = /[\p{Cc}\p{Bidi_Control}\u2028\u2029]/gu;

/** What a steering character is shown as: its control picture (Unicode 2400 to 2421) where there is one, else its number. */
function shown(character: string): string {
  const code = character.codePointAt(0)!;
  if (code < 0x20) return String.fromCodePoint(0x2400 + code);
  return code === 0x7f ? '\u2421' : `<U+${code.toString(16).toUpperCase().padStart(4, '0')}>`;
}

/** Text whose characters cannot steer a terminal: they are made visible. White space among them becomes a space. */
export const plainText = (text: string): string => text.replaceAll(/[\t\n\v\f\r]+/g, ' ').replaceAll(STEERING, shown);

/** As {@link plainText}, of text in lines, which it keeps. */
export const plainLines = (text: string): string =>
  text.replaceAll(STEERING, (character) => (character === '\n' ? character : shown(character)));
