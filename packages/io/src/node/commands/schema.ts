import { planJsonSchema } from '@fettle/geom';
import type { Command } from 'commander';
import { EXIT } from './exit-code.js';
import { printJson } from './output.js';
import type { Run } from './run.js';

export function addSchema(program: Command, run: Run): void {
  program
    .command('schema')
    .summary('print the JSON Schema of plans')
    .description('Prints the JSON Schema of plans, by which an editor completes and checks them.')
    .addHelpText(
      'after',
      `
Example:
  fettle schema > plan.schema.json   then begin a plan with { "$schema": "./plan.schema.json", "version": 1, …`,
    )
    .action(() =>
      run(async () => {
        printJson(planJsonSchema());
        return EXIT.passed;
      }),
    );
}
