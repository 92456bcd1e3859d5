import { readFile } from 'node:fs/promises';
import { FettleError } from '@fettle/geom';
import { Command, CommanderError } from 'commander';
import { plainLines } from '../../text/visible-text.js';
import { memoryError } from '../memory.js';
import { addCheck } from './check.js';
import { EXIT } from './exit-code.js';
import { addInfo } from './info.js';
import { addMeasure } from './measure.js';
import { errorJson, errorLine, heedOutput, printJson } from './output.js';
import { addSchema } from './schema.js';

/**
 * Runs the `fettle` command with the given arguments; gives the exit code: 0 done, 1 a limit or a step failed, 2 wrong usage or an
 * input that cannot be used, 130 stopped by Ctrl-C.
 */
export async function main(args: readonly string[]): Promise<number> {
  heedOutput();
  let code: number = EXIT.passed;
  const report = (thrown: unknown): void => {
    const error = memoryError('The command', thrown);
    code = error instanceof FettleError && error.code === 'interrupted' ? EXIT.interrupted : EXIT.refused;
    if (args.includes('--json')) printJson(errorJson(error));
    errorLine(error);
  };
  const program = new Command('fettle')
    .description('From a raw scan of a machine to datum frame, measured features and true geometry for CAD.')
    .version(await version(), '-V, --version', 'print the version')
    .option('--debug', 'print errors with their stack (or set FETTLE_DEBUG)')
    .helpOption('-h, --help', 'print help')
    .helpCommand('help [command]', 'print help on a command')
    .showHelpAfterError('Ask for help with --help.')
    .exitOverride()
    .configureOutput({ writeErr: (text) => void process.stderr.write(plainLines(text)) })
    .configureHelp({ showGlobalOptions: true })
    .hook('preAction', (_, action) => {
      if (action.optsWithGlobals().debug) process.env.FETTLE_DEBUG = '1';
    })
    .addHelpText(
      'after',
      `
Examples:
  fettle info pump.ply                          what a scan holds, and whether its units are plausible
  fettle check plan.json                        whether a plan can be run
  fettle measure plan.json pump.ply --out out   measure, print the job sheet, write the files

Exit code: 0 done, 1 a limit or a step failed, 2 wrong usage or an input that cannot be used.`,
    );
  const run = async (work: () => Promise<number>): Promise<void> => {
    try {
      code = await work();
    } catch (error) {
      report(error);
    }
  };
  for (const add of [addMeasure, addInfo, addCheck, addSchema]) add(program, run);
  try {
    await program.parseAsync(args, { from: 'user' });
  } catch (error) {
    if (!(error instanceof CommanderError)) throw error;
    // What is wrong has been said; asked for help or the version it ends here too, with 0.
    code = error.exitCode === 0 ? EXIT.passed : EXIT.refused;
    if (code !== EXIT.passed && args.includes('--json'))
      printJson({ error: { code: 'usage', message: error.message } });
  }
  return code;
}

async function version(): Promise<string> {
  const text = await readFile(new URL('../../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}
