import { FettleError } from '@fettle/geom';

/** An error of the file system in words; anything else as it is. */
export function fileError(path: string, error: unknown): unknown {
  const code = (error as NodeJS.ErrnoException).code;
  if (code === undefined || error instanceof FettleError) return error;
  if (code === 'ENOENT') return new FettleError('file-missing', `${path}: there is no such file.`, { cause: error });
  if (code === 'EISDIR')
    return new FettleError('file-unreadable', `${path}: this is a folder; name a file.`, { cause: error });
  if (code === 'EACCES' || code === 'EPERM')
    return new FettleError('file-unreadable', `${path}: no permission to read or write it.`, { cause: error });
  return new FettleError('file-unreadable', `${path}: ${(error as Error).message}.`, { cause: error });
}
