/** Text in columns for a terminal or a text file: fixed pitch, widths counted in characters. */

export interface TextColumn {
  readonly title: string;
  readonly align: 'left' | 'right';
}

/**
 * A row of cells, each of any number of lines, with words below them across all columns, in from the first; or a heading across all
 * columns.
 */
export type TextRow =
  | { readonly cells: readonly (readonly string[])[]; readonly below?: readonly string[] }
  | { readonly heading: string };

const GAP = '  ';

/** Characters as a terminal counts them; wide scripts are not told apart. */
export const textWidth = (text: string): number => [...text].length;

/** The width of each column: its widest line or its title. */
export const columnWidths = (columns: readonly TextColumn[], rows: readonly TextRow[]): number[] =>
  columns.map((column, c) =>
    rows.reduce(
      (widest, row) => ('heading' in row ? widest : Math.max(widest, ...row.cells[c]!.map(textWidth))),
      textWidth(column.title),
    ),
  );

/** The width of a table with these columns. */
export const tableWidth = (widths: readonly number[]): number =>
  widths.reduce((sum, width) => sum + width, 0) + GAP.length * (widths.length - 1);

/**
 * Lines of a table: titles, a rule, the rows; words below a row are wrapped to `width`. Rows of several lines are set apart
 * by blank lines when any has more than one.
 */
export function tableLines(columns: readonly TextColumn[], rows: readonly TextRow[], width = 0): string[] {
  const widths = columnWidths(columns, rows);
  const pad = (text: string, c: number): string => {
    const space = ' '.repeat(Math.max(0, widths[c]! - textWidth(text)));
    return columns[c]!.align === 'right' ? space + text : text + space;
  };
  const line = (cells: readonly string[]): string => cells.map(pad).join(GAP).trimEnd();
  const lines = [line(columns.map((column) => column.title)), line(widths.map((width) => '─'.repeat(width)))];
  const indent = ' '.repeat(widths[0]! + GAP.length);
  const lineCount = (row: TextRow) =>
    'heading' in row ? 1 : Math.max(...row.cells.map((cell) => cell.length)) + (row.below?.length ?? 0);
  const apart = rows.some((row) => lineCount(row) > 1);
  rows.forEach((row, r) => {
    if (apart && r > 0 && !('heading' in rows[r - 1]!)) lines.push('');
    if ('heading' in row) {
      lines.push(row.heading);
      return;
    }
    const height = Math.max(1, ...row.cells.map((cell) => cell.length));
    for (let l = 0; l < height; l++) lines.push(line(row.cells.map((cell) => cell[l] ?? '')));
    for (const text of row.below ?? [])
      lines.push(...wrapText(text, width - indent.length).map((wrapped) => indent + wrapped));
  });
  return lines;
}

/** Spaces that hold a figure together: `± 0.012 mm`, `95 %`, `k = 2.0`. */
const INSIDE_FIGURE = /(?<=±) (?=\d)|(?<=\d) (?=mm\b|%|°)| (?== )|(?<= =) /g;
const GLUE = '\u00a0';

/** The text with the spaces inside its figures unbreakable. */
export const unbroken = (text: string): string => text.replaceAll(INSIDE_FIGURE, GLUE);

/**
 * Text broken at spaces, but not inside figures, into lines of at most `width`; a longer word is broken inside. Later lines
 * start with `indent`.
 */
export function wrapText(text: string, width: number, indent: string = ''): string[] {
  const lines: string[] = [];
  const room = (): number => Math.max(1, width - (lines.length > 0 ? indent.length : 0));
  const push = (line: string): void => {
    lines.push((lines.length > 0 ? indent : '') + line.replaceAll(GLUE, ' '));
  };
  let line: string[] = [];
  let used = 0;
  const words = unbroken(text.trim().replaceAll(/\s+/g, ' ')).split(' ');
  for (const word of words.filter((part) => part !== '')) {
    const letters = [...word];
    if (line.length > 0 && used + 1 + letters.length > room()) {
      push(line.join(' '));
      line = [];
    }
    let at = 0;
    while (letters.length - at > room()) {
      const end = at + room();
      push(letters.slice(at, end).join(''));
      at = end;
    }
    const rest = letters.length - at;
    used = line.length === 0 ? rest : used + 1 + rest;
    line.push(at === 0 ? word : letters.slice(at).join(''));
  }
  if (line.length > 0) push(line.join(' '));
  return lines;
}
