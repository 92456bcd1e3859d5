import { Option } from 'commander';
import { millimetersIn } from '../../read/units.js';

/** `--units`, of every subcommand that reads scans. */
export const unitsOption = (): Option =>
  new Option('-u, --units <unit>', 'of the scan files; default: as they say, else mm').choices(
    Object.keys(millimetersIn),
  );

/** `--keep-whole`, of every subcommand that reads scans. */
export const keepWholeOption = (): Option =>
  new Option('--keep-whole', 'of a scan file that ends early, take what is whole');
