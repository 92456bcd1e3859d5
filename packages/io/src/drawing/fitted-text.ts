import { widthOfText } from './svg-text.js';

/** A way to set a text: height of its capitals, mm, and how many lines it may take. */
export interface Setting {
  readonly size: number;
  readonly lines: number;
}

/** A text broken into lines. */
export interface FittedText {
  readonly size: number;
  readonly lines: readonly string[];
}

/**
 * A text in a field: in the first of the settings that holds it whole, broken at spaces; else in the last, its end cut off for `…`.
 *
 * @param width of the field, mm
 * @param settings the best first, at least one
 */
export function fittedText(text: string, width: number, settings: readonly Setting[]): FittedText {
  for (const { size, lines: most } of settings) {
    const lines = brokenInto(text, width, size);
    if (lines.length <= most && lines.every((line) => widthOfText(line, size) <= width)) return { size, lines };
  }
  const { size, lines: most } = settings.at(-1)!;
  const lines = brokenInto(text, width, size);
  const kept = lines.slice(0, most);
  const isCut = lines.length > most;
  return {
    size,
    lines: kept.map((line, i) => shortened(line, width, size, isCut && i === kept.length - 1)),
  };
}

/** Lines of whole words; a word wider than the field has a line of its own. */
function brokenInto(text: string, width: number, size: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(/\s+/).filter(Boolean)) {
    const last = lines.at(-1);
    const longer = `${last} ${word}`;
    if (last !== undefined && widthOfText(longer, size) <= width) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

/** A line that fits a width: its end cut off for `…` where it does not, or where more would follow. */
function shortened(text: string, width: number, size: number, goesOn: boolean): string {
  if (!goesOn && widthOfText(text, size) <= width) return text;
  let used = widthOfText('…', size);
  let kept = '';
  for (const letter of text) {
    used += widthOfText(letter, size);
    if (kept !== '' && used > width) break;
    kept += letter;
  }
  return `${kept.trimEnd()}…`;
}
