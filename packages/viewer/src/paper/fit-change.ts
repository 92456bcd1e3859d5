import type { Step } from '@fettle/geom';
import type { KnownDirection } from './known-direction.js';

export type FitStep = Extract<Step, { step: 'fit' }>;
export type Criterion = NonNullable<FitStep['criterion']>;

/** What each criterion is, in a few words, and which shapes can be fitted by it. */
export const criteria: readonly {
  readonly criterion: Criterion;
  readonly words: string;
  readonly shapes: readonly FitStep['shape'][];
}[] = [
  {
    criterion: 'least-squares',
    words: 'least squares: the best place and size',
    shapes: ['plane', 'line', 'circle', 'sphere', 'cylinder', 'cone', 'slot', 'ellipse'],
  },
  {
    criterion: 'minimum-zone',
    words: 'minimum zone: form by ISO',
    shapes: ['plane', 'line', 'circle', 'sphere', 'cylinder'],
  },
  { criterion: 'maximum-inscribed', words: 'maximum inscribed: the pin that goes in', shapes: ['circle', 'cylinder'] },
  {
    criterion: 'minimum-circumscribed',
    words: 'minimum circumscribed: the ring that goes over',
    shapes: ['circle', 'cylinder'],
  },
];

export const canBeRobust = ({ shape }: FitStep): boolean => !['slot', 'ellipse'].includes(shape);
export const isFlat = ({ shape }: FitStep): boolean => ['circle', 'slot', 'ellipse'].includes(shape);
export const hasDiameter = ({ shape }: FitStep): boolean => ['circle', 'sphere', 'cylinder'].includes(shape);
/** Whether the tables have something to say of its size. */
export const canBeAsked = ({ shape }: FitStep): boolean => ['circle', 'cylinder'].includes(shape);
export const hasHalfAngle = ({ shape }: FitStep): boolean => shape === 'cone';
export const hasDirection = ({ shape }: FitStep): boolean =>
  ['plane', 'line', 'circle', 'cylinder', 'cone'].includes(shape);

/** The step with fields changed; those changed to undefined are left out. What a criterion cannot have with it goes too. */
export function changedFit(step: FitStep, change: Partial<FitStep>): FitStep {
  const made: Record<string, unknown> = { ...step, ...change };
  if (made.criterion === 'least-squares') delete made.criterion;
  if (made.criterion === undefined) delete made.trim;
  for (const [name, value] of Object.entries(made)) if (value === undefined) delete made[name];
  return made as FitStep;
}

/** How a fit's diameter is known. */
export type Known =
  | { readonly by: 'scan' }
  | { readonly by: 'number'; readonly value: number; readonly uncertainty?: number; readonly prior?: boolean }
  | { readonly by: 'row'; readonly from: string; readonly prior?: boolean };

export function knownDiameter({ known }: FitStep): Known {
  const half = known?.diameter === undefined;
  const size = known?.diameter ?? known?.radius;
  if (size === undefined) return { by: 'scan' };
  if (typeof size === 'string') return { by: 'row', from: size };
  if (typeof size === 'number') return { by: 'number', value: half ? 2 * size : size };
  if ('from' in size) return { by: 'row', from: size.from, ...(size.prior && { prior: true }) };
  const factor = half ? 2 : 1;
  return {
    by: 'number',
    value: factor * size.value,
    uncertainty: factor * size.uncertainty,
    ...(size.prior && { prior: true }),
  };
}

/** The step with its diameter known in another way. */
export function withKnown(step: FitStep, known: Known): FitStep {
  const { radius: _r, diameter: _d, ...rest } = step.known ?? {};
  const diameter = sizeOf(known);
  const all = { ...rest, ...(diameter !== undefined && { diameter }) };
  return changedFit(step, { known: Object.keys(all).length === 0 ? undefined : all });
}

/** How the half-angle of a cone is known, degrees: there are no rows that have one. */
export type KnownAngle = Exclude<Known, { readonly by: 'row' }>;

export function knownHalfAngle({ known }: FitStep): KnownAngle {
  const angle = known?.halfAngle;
  if (angle === undefined) return { by: 'scan' };
  if (typeof angle === 'number') return { by: 'number', value: angle };
  const { value, uncertainty, prior } = angle;
  return { by: 'number', value, uncertainty, ...(prior && { prior: true }) };
}

/** The step with its half-angle known in another way. */
export function withHalfAngle(step: FitStep, known: KnownAngle): FitStep {
  const { halfAngle: _, ...rest } = step.known ?? {};
  const halfAngle = sizeOf(known) as NonNullable<FitStep['known']>['halfAngle'];
  const all = { ...rest, ...(halfAngle !== undefined && { halfAngle }) };
  return changedFit(step, { known: Object.keys(all).length === 0 ? undefined : all });
}

function sizeOf(known: Known): NonNullable<FitStep['known']>['diameter'] {
  if (known.by === 'scan') return undefined;
  const prior = known.prior ? { prior: true } : {};
  if (known.by === 'row') return known.prior ? { from: known.from, prior: true } : known.from;
  return known.uncertainty === undefined
    ? known.value
    : { value: known.value, uncertainty: known.uncertainty, ...prior };
}

/**
 * The step with its direction taken from a row, given as numbers, or left to the points.
 *
 * @param frame whose axes numbers are along; undefined: those of the scan
 */
export function withDirection(step: FitStep, direction: KnownDirection | undefined, frame?: string): FitStep {
  const { direction: _, ...rest } = step.known ?? {};
  const given = typeof direction === 'object' ? [...direction] : direction;
  const all = { ...rest, ...(given !== undefined && { direction: given as NonNullable<typeof given> }) };
  const known = Object.keys(all).length === 0 ? undefined : (all as FitStep['known']);
  // The frame is that of all coordinates in the step: a stretch may need it too.
  const where = step.stretch ? {} : { in: typeof direction === 'object' ? frame : undefined };
  return changedFit(step, { known, ...where });
}
