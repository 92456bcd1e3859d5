import { type Results, resultsToJson } from '@fettle/geom';

/** Results as the text of a JSON document, every digit kept; vectors and matrices each on a line. */
export const resultsJson = (results: Results): string => jsonText(resultsToJson(results));

/** A JSON document for people too: indented, lists of numbers on one line. */
export function jsonText(document: unknown): string {
  const text = JSON.stringify(document, undefined, 2);
  // A line break inside a list is one of the layout: those of strings are escaped.
  return `${text.replaceAll(/\[\n\s+(-?[\d.e+-]+(?:,\n\s+-?[\d.e+-]+)*)\n\s+\]/g, (_, numbers: string) => `[${numbers.replaceAll(/\n\s+/g, ' ')}]`)}\n`;
}
