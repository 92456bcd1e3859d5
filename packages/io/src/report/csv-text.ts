import type { SheetValue } from '@fettle/geom';

/** A record of a CSV file (RFC 4180): fields quoted where they must be, ended by CRLF. */
export const csvLine = (fields: readonly (string | number | undefined)[]): string =>
  `${fields.map((field) => csvField(field === undefined ? '' : String(field))).join(',')}\r\n`;

const csvField = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

/** A unit in plain ASCII, which every spreadsheet opens right: `mm`, `deg`, `mm2`. */
export const csvUnit = (unit: SheetValue['unit']): string => (unit === '°' ? 'deg' : unit.replace('²', '2'));
