import { FettleError } from '@fettle/geom';

/** The code of an error of the file system, such as ENOENT; undefined of any other error. */
function systemCode(error: unknown): string | undefined {
  const { code } = error as NodeJS.ErrnoException;
  return typeof code === 'string' && !(error instanceof FettleError) ? code : undefined;
}

/** An error of the file system while reading, in words; anything else as it is. */
export function fileError(path: string, error: unknown): unknown {
  const say = (code: string, what: string) => new FettleError(code, `${path}: ${what}.`, { cause: error });
  switch (systemCode(error)) {
    case undefined:
      return error;
    case 'ENOENT':
      return say('file-missing', 'there is no such file');
    case 'EISDIR':
      return say('file-unreadable', 'this is a folder; name a file');
    case 'EACCES':
    case 'EPERM':
      return say('file-unreadable', 'no permission to read it');
    default:
      return say('file-unreadable', (error as Error).message);
  }
}

/** Whether an error of {@link writeError} is that of a disk without room. */
export function isDiskFull(error: unknown): boolean {
  const code = error instanceof FettleError && error.cause ? systemCode(error.cause) : undefined;
  return code === 'ENOSPC' || code === 'EDQUOT';
}

/** An error of the file system while writing, in words; anything else as it is. */
export function writeError(path: string, error: unknown): unknown {
  const say = (what: string) => new FettleError('file-not-written', `${path}: ${what}.`, { cause: error });
  switch (systemCode(error)) {
    case undefined:
      return error;
    case 'ENOENT':
      return say('not written, its folder is missing; make it first');
    case 'ENOTDIR':
      return say('not written, a part of this path is a file, not a folder');
    case 'EISDIR':
    case 'EEXIST':
    case 'ENOTEMPTY':
      return say('not written, a folder has this name; choose another');
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return say('not written, no permission to write there');
    case 'ENAMETOOLONG':
      return say('not written, its name is longer than the file system takes; choose a shorter one');
    case 'ENOSPC':
    case 'EDQUOT':
      return say('not written, the disk is full; what was there before is still there');
    default:
      return say(`not written, ${(error as Error).message}`);
  }
}
