import { InvalidArgumentError, Option } from 'commander';
import { millimetersIn } from '../../read/units.js';

/** `--units`, of every subcommand that reads scans. */
export const unitsOption = (): Option =>
  new Option('-u, --units <unit>', 'of the scan files; default: as they say, else mm').choices(
    Object.keys(millimetersIn),
  );

/** `--keep-whole`, of every subcommand that reads scans. */
export const keepWholeOption = (): Option =>
  new Option('--keep-whole', 'of a scan file that ends early, take what is whole');

/** `--unpacked-most`, of every subcommand that reads scans: megabytes to the person, bytes to the reader. */
export const unpackedMostOption = (): Option =>
  new Option(
    '--unpacked-most <MB>',
    'what a compressed scan may unpack to; default: 100 times its size, at least 67',
  ).argParser((text) => {
    const megabytes = Number(text);
    if (!(megabytes > 0)) throw new InvalidArgumentError('It should be a number of megabytes, more than 0.');
    return megabytes * 1e6;
  });
