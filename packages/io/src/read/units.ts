import { type LengthUnit, millimetersIn } from '@fettle/geom';

export { type LengthUnit, millimetersIn };

const words: readonly (readonly [RegExp, LengthUnit])[] = [
  [/^(mm|millimet(er|re)s?)$/, 'mm'],
  [/^(cm|centimet(er|re)s?)$/, 'cm'],
  [/^(m|met(er|re)s?)$/, 'm'],
  [/^(in|inch|inches)$/, 'inch'],
];

/** Letters of the longest word for a unit. */
const LONGEST = 'millimeters'.length;

/**
 * The unit a comment or a header names after the word `unit` or `units` ("units mm", "File units = inches"), if it does. Goes through
 * the text once, however long it is and whatever stands in it.
 */
export function unitNamedIn(text: string): LengthUnit | undefined {
  for (const { 0: found, index } of text.matchAll(/\bunits?\b/gi)) {
    let from = behindBlanks(text, index + found.length);
    if (text[from] === ':' || text[from] === '=') from = behindBlanks(text, from + 1);
    let to = from;
    while (to - from <= LONGEST && /[a-z]/i.test(text.charAt(to))) to++;
    if (to > from && !/\w/.test(text.charAt(to))) return unitWord(text.slice(from, to));
  }
  return undefined;
}

function behindBlanks(text: string, from: number): number {
  let at = from;
  while (/\s/.test(text.charAt(at))) at++;
  return at;
}

/** The unit a word means: "mm", "Millimeter", "inches"; undefined for other words. */
export const unitWord = (text: string): LengthUnit | undefined =>
  words.find(([word]) => word.test(text.toLowerCase()))?.[1];
