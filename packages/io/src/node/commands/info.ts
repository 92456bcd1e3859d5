import { basename } from 'node:path';
import type { Command } from 'commander';
import { type ScanInfo, scanInfo } from '../../report/scan-info.js';
import { scanInfoText } from '../../report/scan-info-text.js';
import { megabytes } from '../../text/number-text.js';
import { openScan } from '../files.js';
import type { ReadingOptions } from '../measure-scan.js';
import { ProgressLine } from '../progress-line.js';
import { EXIT } from './exit-code.js';
import { errorJson, errorLine, outputWidth, print, printJson } from './output.js';
import { keepWholeOption, unitsOption, unpackedMostOption } from './reading-options.js';
import type { Run } from './run.js';
import { scanPaths } from './scan-paths.js';

interface Options extends ReadingOptions {
  readonly json?: true;
}

export function addInfo(program: Command, run: Run): void {
  program
    .command('info')
    .summary('say what a scan holds')
    .description(
      'Says what a scan holds: format, points, triangles, extent, whether its units are plausible, its pieces, how far ' +
        'its points are apart, and its holes.',
    )
    .argument(
      '<scans...>',
      'scan files: PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary or lists of points, told by their content; - for standard input',
    )
    .addOption(unitsOption())
    .addOption(keepWholeOption())
    .addOption(unpackedMostOption())
    .option('--json', 'print one JSON document')
    .addHelpText(
      'after',
      `
Examples:
  fettle info pump.ply
  fettle info pump.obj --units m

Exit code: 0 read, 2 it cannot be read.`,
    )
    .action((paths: string[], options: Options) => run(async () => info(await scanPaths(paths), options)));
}

async function info(paths: readonly string[], { json, ...reading }: Options): Promise<number> {
  const found: object[] = [];
  let code: number = EXIT.passed;
  for (const [p, path] of paths.entries()) {
    try {
      const facts = await look(path, reading);
      found.push(facts);
      if (!json) print(`${p > 0 ? '\n' : ''}${scanInfoText(facts, outputWidth())}`);
    } catch (error) {
      if (paths.length === 1) throw error;
      code = EXIT.refused;
      found.push({ name: basename(path), ...errorJson(error) });
      errorLine(error);
    }
  }
  if (json) printJson(paths.length === 1 ? found[0] : { scans: found });
  return code;
}

async function look(path: string, reading: ReadingOptions): Promise<ScanInfo> {
  const line = new ProgressLine(process.stderr);
  try {
    const scan = await openScan(path, {
      ...reading,
      onProgress: (bytes, total) =>
        line.show(`${basename(path)}: reading ${megabytes(bytes)} of ${megabytes(total)} MB`),
    });
    line.showNow(`${basename(path)}: looking it over`);
    return scanInfo(scan);
  } finally {
    line.clear();
  }
}
