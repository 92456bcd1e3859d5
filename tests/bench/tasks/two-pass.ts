import { type Attack, noises, scanned, type Tally, tallyPasses } from '../../geom/two-pass-tally.js';
import type { Row, Task } from '../task.js';

const TRIALS = 100;
const SEED = 1000;

const attacks: readonly { readonly attack: Attack; readonly what: string }[] = [
  { attack: 'clean', what: 'clean' },
  { attack: 'step', what: 'step of twice the noise' },
  { attack: 'layers', what: 'layers twice the noise apart' },
];

function rowOf(what: string, attack: Attack, { trials, steps, layers, warned, held, looked }: Tally): Row {
  const share = looked > 0 ? held / looked : 1;
  const isClean = attack === 'clean';
  return {
    what,
    ours: `${warned} of ${trials} warned (${steps} of a step, ${layers} of layers)`,
    ...(!isClean && { ratio: `± holds ${(100 * share).toFixed(1)} %` }),
    bound: isClean ? 'at most 2 in 100' : 'at least 95 in 100, ± holds 93 %',
    held: isClean ? warned <= 0.02 * trials : warned >= 0.95 * trials && share >= 0.93,
  };
}

/** How often two passes that stand apart are warned of, and how often scans of one pass are. */
export const task: Task = {
  title: `Two passes that stand apart, ${TRIALS} scans a row`,
  long: true,
  async run() {
    return Object.values(scanned).flatMap((of) =>
      noises.flatMap((noise, k) =>
        attacks.map(({ attack, what }) =>
          rowOf(`${of.name}, ${noise.name}: ${what}`, attack, tallyPasses(of, noise, attack, TRIALS, SEED + k)),
        ),
      ),
    );
  },
};
