import { FettleError } from '@fettle/geom';
import { jsonText } from '../../report/results-json.js';

/** What the command prints: results on stdout, all else on stderr. */

/** Characters a line of the output may have: the terminal's, else those of COLUMNS, else enough for the whole table. */
export const outputWidth = (): number => process.stdout.columns || Number(process.env.COLUMNS) || 120;

/** Prints text; what fails a limit stands out where the output is a terminal that shows color. */
export function print(text: string): void {
  const bold = process.stdout.isTTY && !process.env.NO_COLOR && process.env.TERM !== 'dumb';
  process.stdout.write(bold ? text.replaceAll(/\bOUTSIDE\b/g, '\u001b[1m$&\u001b[22m') : text);
}

export const printJson = (document: unknown): void => {
  process.stdout.write(jsonText(document));
};

/** Prints an error in one message; its stack where `FETTLE_DEBUG` or --debug asks for it. */
export function errorLine(error: unknown): void {
  const { message, stack } = error instanceof Error ? error : { message: String(error), stack: undefined };
  process.stderr.write(`fettle: ${process.env.FETTLE_DEBUG && stack ? stack : message}\n`);
}

/** An error as it stands in a JSON document. */
export const errorJson = (error: unknown): { error: { code: string; message: string } } => ({
  error: {
    code: error instanceof FettleError ? error.code : 'unexpected',
    message: error instanceof Error ? error.message : String(error),
  },
});
