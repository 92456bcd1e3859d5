import { protectedTriangles, refuseAbove } from '../../prepare/protected.js';
import { regionUnion } from '../../region/combine.js';
import type { Mesh } from '../../scan/scan.js';
import type { Context } from '../step/context.js';
import { type DeliverScanStep, type DeliverStep, deliverSchemas } from '../step/deliver-schema.js';
import { fittedPoints, type Protection } from '../step/fitted-points.js';
import type { OutcomeOf, Reference, StepKind } from '../step/kind.js';
import { featureKinds } from '../step/names.js';

/** What stays at full density: the regions named, else all that was fitted. */
function protection({ scan: { simplify } }: DeliverScanStep, context: Context): Protection | undefined {
  if (simplify === undefined) return undefined;
  if (simplify.protect === undefined) return fittedPoints(context.scan, context.fits);
  return { points: regionUnion(...simplify.protect.map((id) => context.region(id)!)), places: new Float64Array() };
}

/** @throws FettleError `simplify-protected` where the points alone are those of more triangles than are asked for */
function refuseTooFew(step: DeliverStep, { scan }: Context, protect: Protection | undefined): void {
  const asked = 'scan' in step ? step.scan.simplify?.triangles : undefined;
  if (asked === undefined || protect === undefined || scan.triangles === undefined) return;
  const mesh = scan as Mesh;
  refuseAbove(asked, protectedTriangles(mesh, protect.points), mesh);
}

export const deliverStep: StepKind<DeliverStep, OutcomeOf<'deliver'>> = {
  forms: deliverSchemas,
  references(step) {
    const found: Reference[] = [];
    if ('cad' in step) {
      if (step.cad.in !== undefined) found.push({ path: ['cad', 'in'], id: step.cad.in, accepts: ['frame'] });
      for (const [i, id] of (step.cad.items ?? []).entries())
        found.push({ path: ['cad', 'items', i], id, accepts: [...featureKinds, 'section', 'frame'] });
      return found;
    }
    if ('drawing' in step && step.drawing.of !== undefined)
      found.push({ path: ['drawing', 'of'], id: step.drawing.of, accepts: ['section'] });
    if (!('scan' in step)) return found;
    const { scan } = step;
    if (scan.in !== undefined) found.push({ path: ['scan', 'in'], id: scan.in, accepts: ['frame'] });
    for (const [i, id] of (scan.simplify?.protect ?? []).entries())
      found.push({ path: ['scan', 'simplify', 'protect', i], id, accepts: ['region'] });
    return found;
  },
  yields: () => 'delivery',
  needsLastFrame: (step) =>
    ('cad' in step && step.cad.in === undefined) ||
    ('drawing' in step && step.drawing.of === undefined) ||
    'picture' in step,
  foresee(step, context) {
    if ('scan' in step && step.scan.simplify?.protect !== undefined)
      refuseTooFew(step, context, protection(step, context));
  },
  run(step, context) {
    const protect = 'scan' in step ? protection(step, context) : undefined;
    refuseTooFew(step, context, protect);
    return { outcome: { kind: 'deliver', id: step.id, deliver: step, ...(protect && { protect }) } };
  },
};
