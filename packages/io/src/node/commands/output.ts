import { fstatSync, writeSync } from 'node:fs';
import { FettleError } from '@fettle/geom';
import { jsonText } from '../../report/results-json.js';
import { plainLines } from '../../text/visible-text.js';
import { EXIT } from './exit-code.js';

/** What the command prints: results on stdout, all else on stderr. */

/** Characters a line of the output may have: the terminal's, else those of COLUMNS, else enough for the whole table. */
export const outputWidth = (): number => process.stdout.columns || Number(process.env.COLUMNS) || 120;

/** Prints text; what fails a limit stands out where the output is a terminal that shows color. */
export function print(text: string): void {
  const bold = process.stdout.isTTY && !process.env.NO_COLOR && process.env.TERM !== 'dumb';
  const plain = plainLines(text);
  write(bold ? plain.replaceAll(/\bOUTSIDE\b/g, '\u001b[1m$&\u001b[22m') : plain);
}

/** Prints a document as JSON; characters that steer a terminal stand in its strings by their numbers. */
export const printJson = (document: unknown): void => {
  const number = (character: string): string => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`;
  write(jsonText(document).replaceAll(/[\u007f-\u009f\p{Bidi_Control}]/gu, number));
};

/** Prints an error in one message; its stack where `FETTLE_DEBUG` or --debug asks for it. */
export function errorLine(error: unknown): void {
  const { message, stack } = error instanceof Error ? error : { message: String(error), stack: undefined };
  process.stderr.write(`fettle: ${plainLines(process.env.FETTLE_DEBUG && stack ? stack : message)}\n`);
}

/** Writes all of a text: of a file, which may take a part only when the disk is full, whatever is left as well. */
function write(text: string): void {
  if (!isFile(process.stdout.fd)) {
    process.stdout.write(text);
    return;
  }
  try {
    for (let bytes = Buffer.from(text); bytes.length > 0; ) bytes = bytes.subarray(writeSync(process.stdout.fd, bytes));
  } catch (error) {
    endWithout(error as NodeJS.ErrnoException);
  }
}

function isFile(fd: number): boolean {
  try {
    return fstatSync(fd).isFile();
  } catch {
    return false;
  }
}

/**
 * Has the command end where its output can go no further. Whoever reads it may have had enough (`fettle … | head`): that is no error. Of
 * messages that reach nobody no more is said.
 */
export function heedOutput(): void {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit();
    endWithout(error);
  });
  process.stderr.on('error', () => undefined);
}

function endWithout(error: NodeJS.ErrnoException): never {
  const why = error.code === 'ENOSPC' || error.code === 'EDQUOT' ? 'the disk is full' : error.message;
  errorLine(
    new FettleError('output-not-written', `What was to be printed is cut off: ${why}. Send it elsewhere.`, {
      cause: error,
    }),
  );
  process.exit(EXIT.refused);
}

/** An error as it stands in a JSON document. */
export const errorJson = (error: unknown): { error: { code: string; message: string } } => ({
  error: {
    code: error instanceof FettleError ? error.code : 'unexpected',
    message: error instanceof Error ? error.message : String(error),
  },
});
