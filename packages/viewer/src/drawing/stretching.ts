import type { FitStep, Vec3 } from '@fettle/geom';
import { vec3 } from '@fettle/geom';
import { type Signal, signal } from '@preact/signals';
import { rounded } from '../choosing/draft-steps.js';
import type { Session } from '../session/session.js';
import type { StepView } from '../worker/protocol.js';
import { frameInUse } from './cutting.js';

/** What can be fitted to a stretch of a section. */
export const STRETCH_SHAPES = ['line', 'circle', 'slot', 'ellipse'] as const;
export type StretchShape = (typeof STRETCH_SHAPES)[number];

/** A stretch as it was picked: between two places, or a whole closed outline. Scan axes, mm. */
export type PickedStretch =
  | { readonly from: Vec3; readonly to: Vec3 }
  | { readonly outline: readonly Vec3[]; readonly normal: Vec3 };

/** A stretch picked and what is fitted to it, not yet in the plan. */
export interface Stretching {
  readonly section: string;
  readonly picked: PickedStretch;
  readonly shape: StretchShape;
  readonly step: FitStep;
  readonly view?: StepView;
}

/** About a whole outline, mm: it is to hold all of it and nothing beside. */
const MARGIN = 0.3;

const known = new WeakMap<Session, Signal<Stretching | undefined>>();

/** The one stretch being fitted of a session. */
export function stretchingOf(session: Session): Signal<Stretching | undefined> {
  const before = known.get(session);
  if (before) return before;
  const made = signal<Stretching | undefined>(undefined);
  known.set(session, made);
  return made;
}

/** Fits a shape to a stretch, beside the plan. A straight-looking stretch is offered as a line, a closed one as a circle. */
export async function fitStretch(
  session: Session,
  section: string,
  picked: PickedStretch,
  shape: StretchShape,
): Promise<void> {
  const stretching = stretchingOf(session);
  const { id: frame, origin, axes } = frameInUse(session);
  const inFrame = (place: Vec3): Vec3 => {
    const d = vec3.subtract(place, origin);
    return rounded([vec3.dot(d, axes.x), vec3.dot(d, axes.y), vec3.dot(d, axes.z)]);
  };
  const step: FitStep = {
    step: 'fit',
    id: session.freeId(shape),
    shape,
    to: section,
    stretch:
      'from' in picked
        ? { from: inFrame(picked.from), to: inFrame(picked.to) }
        : { box: boxAbout(picked.outline.map(inFrame)) },
    ...(frame !== undefined && { in: frame }),
    reject: 3.5,
  };
  const begun: Stretching = { section, picked, shape, step };
  stretching.value = begun;
  try {
    const view = await session.measurer.tryStep(session.plan.peek(), [step]);
    if (stretching.peek() === begun && !view.moot) stretching.value = { ...begun, view };
  } catch (error) {
    session.say({ tone: 'refusal', message: (error as Error).message });
  }
}

function boxAbout(places: readonly Vec3[]): { readonly min: Vec3; readonly max: Vec3 } {
  const end = (pick: (...values: number[]) => number, by: number): Vec3 =>
    rounded([0, 1, 2].map((k) => pick(...places.map((p) => p[k]!)) + by) as unknown as Vec3);
  return { min: end(Math.min, -MARGIN), max: end(Math.max, MARGIN) };
}

/** Puts the fit into the plan. */
export async function keepStretch(session: Session): Promise<boolean> {
  const stretching = stretchingOf(session);
  const now = stretching.peek();
  if (!now?.view || now.view.refusal) return false;
  const kept = await session.append([now.step]);
  if (kept) {
    stretching.value = undefined;
    session.selected.value = [now.step.id];
  }
  return kept;
}
