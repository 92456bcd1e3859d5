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

/** Sizes between which a scanned machine or part is believed, mm: the diagonal of its bounds. */
const believable = { least: 1, most: 50_000 };

/**
 * The unit a file was probably in if read as `unit` its diagonal, in mm, comes out too small or too large to be believed;
 * undefined where it is believed or no unit helps. Common practice, no source.
 */
export function likelyUnit(diagonal: number, unit: LengthUnit): LengthUnit | undefined {
  if (!(diagonal > 0) || (diagonal >= believable.least && diagonal <= believable.most)) return undefined;
  const asWritten = diagonal / millimetersIn[unit];
  const order: readonly LengthUnit[] = diagonal < believable.least ? ['m', 'inch', 'cm'] : ['mm', 'cm', 'inch'];
  return order.find((u) => {
    const d = asWritten * millimetersIn[u];
    return u !== unit && d >= believable.least && d <= believable.most;
  });
}
