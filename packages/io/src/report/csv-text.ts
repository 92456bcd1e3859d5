import type { SheetValue } from '@fettle/geom';

/** A record of a CSV file (RFC 4180): fields quoted where they must be, ended by CRLF. What is no number is text to a spreadsheet too. */
export const csvLine = (fields: readonly (string | number | undefined)[]): string =>
  `${fields.map((field) => csvField(field === undefined ? '' : String(field))).join(',')}\r\n`;

const csvField = (text: string): string => {
  const inert = inertText(text);
  return /[",\r\n]/.test(inert) ? `"${inert.replaceAll('"', '""')}"` : inert;
};

const NUMBER = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i;
/**
 * What a spreadsheet takes for a formula: a cell that begins so, the full-width forms included. Some take a semicolon or a tab for the end of
 * a cell, within quotes too.
 */
const FORMULA = /(?=[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20])(?<=^|[;\t] *)/g;

/** Text with an apostrophe before what a spreadsheet would take for a formula (OWASP, CSV Injection). Numbers stay numbers. */
const inertText = (text: string): string => (NUMBER.test(text) ? text : text.replaceAll(FORMULA, "'"));

/** A unit in plain ASCII, which every spreadsheet opens right: `mm`, `deg`, `mm2`. */
export const csvUnit = (unit: SheetValue['unit']): string => (unit === '°' ? 'deg' : unit.replace('²', '2'));
