import { constants, createReadStream, fstatSync, open } from 'node:fs';
import { stat } from 'node:fs/promises';
import { Socket } from 'node:net';
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { isatty } from 'node:tty';
import { promisify } from 'node:util';
import { FettleError } from '@fettle/geom';

/** Standard input where a path is expected. */
export const STDIN = '-';
const STDIN_FD = 0;

export const isStdin = (path: string): boolean => path === STDIN || path === '/dev/stdin';

/** What a file is called, without its folder. */
export const fileName = (path: string): string => (isStdin(path) ? 'stdin' : basename(path));

/**
 * What comes through a pipe or standard input; undefined of a path that is neither. It waits for bytes, and for someone to write them,
 * without keeping a thread busy, so that the signal ends it at any time.
 *
 * @throws FettleError `stdin-is-terminal`; errors of the file system
 */
export async function openPipe(path: string, signal?: AbortSignal): Promise<Readable | undefined> {
  const stream = isStdin(path) ? openStdin() : (await stat(path)).isFIFO() ? await openFifo(path) : undefined;
  // Whoever reads it is told what goes wrong; what does when nobody reads any more is nobody's.
  stream?.on('error', () => undefined);
  const end = (): void => void stream?.destroy();
  signal?.addEventListener('abort', end, { once: true });
  stream?.once('close', () => signal?.removeEventListener('abort', end));
  return stream;
}

function openStdin(): Readable {
  if (isatty(STDIN_FD))
    throw new FettleError(
      'stdin-is-terminal',
      'Standard input is a terminal: name a file in place of -, or send one through a pipe.',
    );
  const is = fstatSync(STDIN_FD);
  if (is.isFIFO() || is.isSocket()) return new Socket({ fd: STDIN_FD, readable: true, writable: false });
  return createReadStream('', { fd: STDIN_FD, autoClose: false, highWaterMark: 1 << 20 });
}

/** Opening waits for a writer, and a thread that waits so cannot be ended: opened without waiting, it is read when there is something. */
async function openFifo(path: string): Promise<Readable> {
  const fd = await promisify(open)(path, constants.O_RDONLY | constants.O_NONBLOCK);
  return new Socket({ fd, readable: true, writable: false });
}
