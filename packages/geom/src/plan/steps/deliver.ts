import { z } from 'zod';
import { common, frameReference } from '../fields.js';
import type { OutcomeOf, StepKind } from '../kind.js';

/** What to write besides the job sheet. The plan only says what; whoever runs it writes the files. */
export const deliverSchemas = {
  scan: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      scan: z.strictObject({
        format: z.enum(['ply', 'obj', 'stl']),
        in: frameReference.optional().describe('Id of an earlier frame to set the scan on. Absent: as scanned.'),
      }),
    })
    .describe('The scan, set on a datum frame.'),
};

export type DeliverStep = z.infer<(typeof deliverSchemas)[keyof typeof deliverSchemas]>;

export const deliverStep: StepKind<DeliverStep, OutcomeOf<'deliver'>> = {
  forms: deliverSchemas,
  references: ({ scan }) => (scan.in === undefined ? [] : [{ path: ['scan', 'in'], id: scan.in, accepts: ['frame'] }]),
  yields: () => 'delivery',
  run: (step) => ({ outcome: { kind: 'deliver', id: step.id, deliver: step } }),
};
