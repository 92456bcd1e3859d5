import type { Plan, Step } from '@fettle/geom';
import type { Command } from 'commander';
import { checkDrawings } from '../../drawing/planned-drawings.js';
import { counted } from '../../text/number-text.js';
import { tableLines } from '../../text/text-layout.js';
import { plainText } from '../../text/visible-text.js';
import { readPlan } from '../plan-file.js';
import { EXIT } from './exit-code.js';
import { print, printJson } from './output.js';
import type { Run } from './run.js';

export function addCheck(program: Command, run: Run): void {
  program
    .command('check')
    .summary('check a plan without a scan')
    .description('Checks a plan in full, without a scan, and lists its steps.')
    .argument('<plan>', 'plan, a JSON file')
    .option('--json', 'print one JSON document')
    .addHelpText(
      'after',
      `
Example:
  fettle check plan.json

Exit code: 0 the plan can be run, 2 it cannot.`,
    )
    .action((path: string, options: { json?: true }) =>
      run(async () => {
        const plan = await readPlan(path);
        checkDrawings(plan);
        if (options.json)
          printJson({ valid: true, title: plan.title, steps: plan.steps.map(({ id, step }) => ({ id, step })) });
        else print(planText(plan));
        return EXIT.passed;
      }),
    );
}

function planText(plan: Plan): string {
  const columns = [
    { title: 'step', align: 'right' },
    { title: 'id', align: 'left' },
    { title: 'kind', align: 'left' },
    { title: 'note', align: 'left' },
  ] as const;
  const rows = plan.steps.map((step: Step, s) => ({
    cells: [[String(s + 1)], [step.id], [kindText(step)], [plainText(step.note ?? '')]],
  }));
  return `${[plainText(plan.title), '', ...tableLines(columns, rows), '', `The plan holds: ${counted(plan.steps.length, 'step')}.`].join('\n')}\n`;
}

const kindText = (step: Step): string => (step.step === 'fit' && 'shape' in step ? `fit ${step.shape}` : step.step);
