import { z } from 'zod';
import { regionUnion } from '../../region/combine.js';
import type { Context } from '../context.js';
import { common, frameReference, positiveLength, reference } from '../fields.js';
import { fittedPoints, type Protection } from '../fitted-points.js';
import type { OutcomeOf, Reference, StepKind } from '../kind.js';

const simplifySchema = z
  .strictObject({
    triangles: z.int().positive().optional().describe('The number of triangles to come down to.'),
    deviation: positiveLength
      .optional()
      .describe('As few triangles as this leaves: how far the surface may be off anywhere, either way, measured, mm.'),
    protect: z
      .array(reference('a region'))
      .optional()
      .describe('Ids of earlier regions to keep at full density. Absent: all that fits were made to.'),
  })
  .refine((s) => (s.triangles === undefined) !== (s.deviation === undefined), {
    error: 'one of triangles and deviation',
  })
  .describe('Fewer triangles: the scan simplified for CAD, its deviation measured and told.');

/** What to write besides the job sheet. The plan only says what; whoever runs it writes the files. */
export const deliverSchemas = {
  scan: z
    .strictObject({
      step: z.literal('deliver'),
      ...common,
      scan: z.strictObject({
        format: z.enum(['ply', 'obj', 'stl']),
        in: frameReference.optional().describe('Id of an earlier frame to set the scan on. Absent: as scanned.'),
        simplify: simplifySchema.optional(),
      }),
    })
    .describe('The scan, set on a datum frame.'),
};

export type DeliverStep = z.infer<(typeof deliverSchemas)[keyof typeof deliverSchemas]>;

/** What stays at full density: the regions named, else all that was fitted. */
function protection({ scan: { simplify } }: DeliverStep, context: Context): Protection | undefined {
  if (simplify === undefined) return undefined;
  if (simplify.protect === undefined) return fittedPoints(context.scan, context.fits);
  return { points: regionUnion(...simplify.protect.map((id) => context.region(id)!)), places: new Float64Array() };
}

export const deliverStep: StepKind<DeliverStep, OutcomeOf<'deliver'>> = {
  forms: deliverSchemas,
  references({ scan }) {
    const found: Reference[] = [];
    if (scan.in !== undefined) found.push({ path: ['scan', 'in'], id: scan.in, accepts: ['frame'] });
    for (const [i, id] of (scan.simplify?.protect ?? []).entries())
      found.push({ path: ['scan', 'simplify', 'protect', i], id, accepts: ['region'] });
    return found;
  },
  yields: () => 'delivery',
  run(step, context) {
    const protect = protection(step, context);
    return { outcome: { kind: 'deliver', id: step.id, deliver: step, ...(protect && { protect }) } };
  },
};
