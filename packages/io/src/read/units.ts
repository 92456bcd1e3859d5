import { type LengthUnit, millimetersIn } from '@fettle/geom';

export { type LengthUnit, millimetersIn };

const words: readonly (readonly [RegExp, LengthUnit])[] = [
  [/^(mm|millimet(er|re)s?)$/, 'mm'],
  [/^(cm|centimet(er|re)s?)$/, 'cm'],
  [/^(m|met(er|re)s?)$/, 'm'],
  [/^(in|inch|inches)$/, 'inch'],
];

/** The unit a comment or a header names after the word `unit` or `units` ("units mm", "File units = inches"), if it does. */
export function unitNamedIn(text: string): LengthUnit | undefined {
  const named = /\bunits?\b\s*[:=]?\s*([a-z]+)\b/i.exec(text)?.[1];
  return named === undefined ? undefined : unitWord(named);
}

/** The unit a word means: "mm", "Millimeter", "inches"; undefined for other words. */
export const unitWord = (text: string): LengthUnit | undefined =>
  words.find(([word]) => word.test(text.toLowerCase()))?.[1];
