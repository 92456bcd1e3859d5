import { type FitStep, preparedScan, type Results, type Scan, scanFrame, stretchPoints, type Vec3 } from '@fettle/geom';

/**
 * The positions (xyz xyz …, scan axes) the points of a fit are numbers of: of the scan as it stood before the step, or of the stretch of
 * a section it was made to; undefined where that section is not among the outcomes.
 */
export function fitPositions(results: Results, scan: Scan, id: string): Float64Array | undefined {
  const step = results.plan.steps.find((one) => one.id === id);
  if (step?.step !== 'fit') return undefined;
  const cut = results.outcomes.find((outcome) => outcome.id === step.to);
  if (cut?.kind === 'section') return stretchPoints(cut.section, stretchOf(step, results), step.every).points;
  return preparedScan(results.outcomes, scan, id).positions;
}

const far = Number.MAX_VALUE;

function stretchOf({ stretch, in: frameId }: FitStep, { outcomes }: Results): Parameters<typeof stretchPoints>[1] {
  const found = outcomes.find(({ id }) => id === frameId);
  const frame = found?.kind === 'frame' ? found.frame : scanFrame;
  if (stretch === undefined) return { box: { min: [-far, -far, -far], max: [far, far, far] }, frame };
  if ('box' in stretch) return { box: stretch.box, frame };
  if ('sphere' in stretch) return { within: stretch.sphere, frame };
  const at = (p: Vec3): Vec3 => frame.toScan(p);
  return { from: at(stretch.from), to: at(stretch.to), long: stretch.long ?? false };
}
