import { readScan } from '@fettle/io';
import { measureFiles } from '@fettle/io/node';
import { expect, test } from 'vitest';

test('a path given for bytes is told where paths are opened', async () => {
  await expect(readScan('pump.ply' as never, { name: 'pump.ply' })).rejects.toThrow(
    'A scan is read from bytes, not from a string. A path is opened by openScan of @fettle/io/node.',
  );
  await expect(readScan(undefined as never, { name: 'nothing' })).rejects.toThrow(
    'A scan is read from bytes, not from undefined. Give a stream or list of Uint8Array',
  );
});

test('one path given for a list of paths is told so', async () => {
  await expect(measureFiles({}, 'pump.ply' as never)).rejects.toThrow('takes a list of paths: give [path]');
});
