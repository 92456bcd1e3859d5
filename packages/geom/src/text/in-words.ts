/** Radians as people read them: `0.0042°`, `12.3°`; nothing under a millionth of a degree. */
export function degreesInWords(radians: number): string {
  const degrees = (radians * 180) / Math.PI;
  const size = Math.abs(degrees);
  return `${Number(size < 1e-6 ? 0 : size < 1 ? degrees.toPrecision(3) : degrees.toFixed(2))}°`;
}

/** `a plane`, `an ellipse` */
export const withArticle = (word: string): string => `${/^[aeiou]/.test(word) ? 'an' : 'a'} ${word}`;

/** `a plane, a line or a circle` */
export const either = (words: readonly string[]): string =>
  words.length < 2 ? words.join() : `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;

/** `top, front and side` */
export const together = (words: readonly string[]): string =>
  words.length < 2 ? words.join() : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
