import { excerpt } from './excerpt.js';

/** An object of the document whose fields may be anything: it comes from a file. */
export type Fields = Readonly<Record<string, unknown>>;

/** Throws what is wrong with the document, in words. */
export type Complain = (what: string, code?: string) => never;

/** What a message says of an index or a name, which in a damaged file may be anything. */
export const shown = (value: unknown): string =>
  typeof value === 'string'
    ? `'${excerpt(value)}'`
    : typeof value === 'number'
      ? String(value)
      : 'what is no name or index';

/** The entry of a list of the document, by an index that the document gives. */
export function entryOf(document: Fields, list: string, index: unknown, complain: Complain): Fields {
  const entries = document[list];
  const entry = Array.isArray(entries) && Number.isInteger(index) ? (entries as unknown[])[index as number] : undefined;
  if (typeof entry !== 'object' || entry === null) complain(`it names ${list} ${shown(index)}, which it does not have`);
  return entry as Fields;
}

/** A whole number of the document that is not negative; `otherwise` where it has none. */
export function wholeOf(fields: Fields, name: string, otherwise: number | undefined, complain: Complain): number {
  const value = fields[name] ?? otherwise;
  if (!Number.isSafeInteger(value) || (value as number) < 0) complain(`'${name}' is no whole number`);
  return value as number;
}

/** A list of the document; none where it has none. */
export const listOf = (fields: Fields, name: string): readonly unknown[] =>
  Array.isArray(fields[name]) ? (fields[name] as readonly unknown[]) : [];
