import { type LengthUnit, unitWord } from './units.js';

/** Which column of a point list, counted from 0, is what. */
export interface PointColumns {
  readonly position: readonly number[];
  readonly normal?: readonly number[];
  readonly color?: readonly number[];
}

/** Separators of fields: blanks, or one of these between them. */
export type Separator = ' ' | ',' | ';';

const number = /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/;
const noNumber = /^[+-]?(nan|inf|infinity)$/i;
const decimalComma = /^[+-]?\d+(,\d+)?([eE][+-]?\d+)?$/;

/** How a line's fields are separated if it is a row of three numbers or more; 'decimal comma' if it would be one with points for commas. */
export function rowSeparator(line: string): Separator | 'decimal comma' | undefined {
  const isRow = (fields: readonly string[]) =>
    fields.length > 2 && fields.every((f) => number.test(f) || noNumber.test(f));
  const hasCommas = (fields: readonly string[]) =>
    fields.length > 2 && line.includes(',') && fields.every((f) => decimalComma.test(f));
  if (line.includes(';')) {
    const fields = fieldsOf(line, ';');
    return isRow(fields) ? ';' : hasCommas(fields) ? 'decimal comma' : undefined;
  }
  const words = fieldsOf(line, ' ');
  if (isRow(words)) return ' ';
  if (hasCommas(words)) return 'decimal comma';
  return isRow(fieldsOf(line, ',')) ? ',' : undefined;
}

/** Fields of a line; one empty field at the end is none. */
export function fieldsOf(line: string, separator: Separator): string[] {
  if (separator === ' ') return line.trim().split(/\s+/);
  const fields = line.split(separator).map((field) => field.trim());
  return fields.at(-1) === '' ? fields.slice(0, -1) : fields;
}

const names: Readonly<Record<keyof PointColumns, readonly (readonly string[])[]>> = {
  position: [['x', 'y', 'z']],
  normal: [
    ['nx', 'ny', 'nz'],
    ['normal_x', 'normal_y', 'normal_z'],
  ],
  color: [
    ['r', 'g', 'b'],
    ['red', 'green', 'blue'],
  ],
};

/** Characters of the longest heading of a column that is looked at. */
const LONGEST_HEADING = 60;

/** The name in the heading of a column and the unit in brackets behind it, with or without quotes; undefined for other text. */
function columnHeading(field: string): { readonly name: string; readonly unit?: string } | undefined {
  if (field.length > LONGEST_HEADING) return undefined;
  const text = field.replaceAll('"', '').trim();
  const open = text.search(/[[(]/);
  if (open < 0) return { name: text.toLowerCase() };
  const unit = /[\])]$/.test(text) ? text.slice(open + 1, -1).trim() : '';
  return /^[a-z]+$/i.test(unit) ? { name: text.slice(0, open).trim().toLowerCase(), unit } : undefined;
}

/** Columns by their names in a heading, with the unit it may give in brackets ("X [mm]"); undefined if x, y and z are not among them. */
export function namedColumns(fields: readonly string[]): (PointColumns & { readonly unit?: LengthUnit }) | undefined {
  const headings = fields.map(columnHeading);
  const words = headings.map((heading) => heading?.name ?? '');
  const find = (what: keyof PointColumns): number[] | undefined =>
    names[what].map((three) => three.map((name) => words.indexOf(name))).find((places) => places.every((p) => p >= 0));
  const position = find('position');
  if (position === undefined) return undefined;
  const [normal, color] = [find('normal'), find('color')];
  const unit = unitWord(headings[position[0]]?.unit ?? '');
  return { position, ...(normal && { normal }), ...(color && { color }), ...(unit && { unit }) };
}

/**
 * Columns by what stands in them: coordinates first, then, three by three, normals (of unit length) and colors (whole numbers of 0 to
 * 255). Where columns are over, as the intensity before the colors in what laser scanners write, the first ones are.
 *
 * @param rows the first rows, `width` numbers each
 */
export function guessColumns(rows: Float64Array, width: number): PointColumns {
  const count = rows.length / width;
  const share = (test: (row: number) => boolean): number => {
    let n = 0;
    for (let r = 0; r < count; r++) if (test(r * width)) n++;
    return n / count;
  };
  const square = (at: number) => rows[at] ** 2 + rows[at + 1] ** 2 + rows[at + 2] ** 2;
  const isNormal = (c: number): boolean =>
    share((r) => Math.abs(square(r + c) - 1) < 0.02) > 0.5 &&
    share((r) => Math.abs(square(r + c) - 1) < 0.02 || square(r + c) === 0) > 0.99;
  const isColor = (c: number): boolean =>
    share((r) =>
      [c, c + 1, c + 2].every((k) => Number.isInteger(rows[r + k]) && rows[r + k] >= 0 && rows[r + k] < 256),
    ) === 1;

  let normal: number[] | undefined;
  let color: number[] | undefined;
  for (let c = 3 + ((width - 3) % 3); c < width; c += 3) {
    if (normal === undefined && isNormal(c)) normal = [c, c + 1, c + 2];
    else if (color === undefined && isColor(c)) color = [c, c + 1, c + 2];
  }
  return { position: [0, 1, 2], ...(normal && { normal }), ...(color && { color }) };
}
