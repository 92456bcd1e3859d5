import { FettleError, type Plan, type Step, stepReferences, type Vec2, type Vec3 } from '@fettle/geom';
import { type ViewName, viewAxes } from '../picture/view.js';
import { TITLES } from './feature-drawing.js';
import { paperFor } from './paper-for.js';
import { placeTable } from './place-table.js';
import { dot } from './sight.js';

/** Shapes whose fits have a center, and so a row in the table of places. */
const WITH_CENTER: readonly string[] = ['circle', 'sphere', 'slot', 'ellipse'];

/**
 * Refuses a plan with a drawing of its features that its paper cannot hold, as far as the plan alone tells: by the rows of the table of
 * places, and by the places and sizes it states.
 *
 * @throws FettleError `drawing-too-large`
 */
export function checkDrawings(plan: Plan): void {
  const steps = certainSteps(plan.steps);
  const frame = plan.steps.findLast(({ step }) => step === 'frame')?.id;
  for (const step of steps) {
    if (step.step !== 'deliver' || !('drawing' in step) || step.drawing.of !== undefined) continue;
    const { view = 'top', scale = 1, paper } = step.drawing;
    const ids = steps.filter(hasCenter).map(({ id }) => id);
    const table = ids.length > 0 ? placeTable([TITLES, ...ids.map((id) => ['1', id, '0', '0', '0'])]) : undefined;
    const size = drawnSize(steps, view, frame).map((mm) => mm * scale) as unknown as Vec2;
    try {
      paperFor(size, { scale, table, ...(paper && { paper }) });
    } catch (error) {
      if (!(error instanceof FettleError)) throw error;
      throw new FettleError(error.code, `${step.id}: ${error.message}`, { cause: error });
    }
  }
}

/** The steps that a complete run does not leave out: not optional, and resting on none that is. */
function certainSteps(steps: readonly Step[]): Step[] {
  const leftOut = new Set<string>();
  for (const step of steps)
    if (step.optional || stepReferences(step).some((id) => leftOut.has(id))) leftOut.add(step.id);
  return steps.filter(({ id }) => !leftOut.has(id));
}

const isPoint = (step: Step): step is Extract<Step, { step: 'construct'; point: unknown }> =>
  step.step === 'construct' && 'point' in step;

/** Places are best estimates: fits by other criteria have no row. */
function hasCenter(step: Step): boolean {
  if (step.step !== 'fit') return isPoint(step);
  return WITH_CENTER.includes(step.shape) && (step.criterion === undefined || step.criterion === 'least-squares');
}

/** Width and height the drawing has at least, mm of the part: by the places stated in its frame, and by the spheres of stated size. */
function drawnSize(steps: readonly Step[], view: ViewName, frame: string | undefined): Vec2 {
  const { right, up } = viewAxes(view);
  const places: readonly Vec3[] = steps.flatMap((step) => (isPoint(step) && step.in === frame ? [step.point] : []));
  const spheres = steps.flatMap((step) => (step.step === 'fit' && step.shape === 'sphere' ? diametersOf(step) : []));
  return [right, up].map((axis) => {
    const along = places.map((place) => dot(place, axis));
    return Math.max(0, Math.max(...along) - Math.min(...along), ...spheres);
  }) as unknown as Vec2;
}

function diametersOf({ known }: Extract<Step, { step: 'fit' }>): number[] {
  const { diameter, radius } = known ?? {};
  return [...(typeof diameter === 'number' ? [diameter] : []), ...(typeof radius === 'number' ? [2 * radius] : [])];
}
