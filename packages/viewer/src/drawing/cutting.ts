import type { SectionStep, Vec3 } from '@fettle/geom';
import { vec3 } from '@fettle/geom';
import type { Session } from '../session/session.js';

export type CutAxis = 'x' | 'y' | 'z';

/** What the plan's last frame, or the one named, is called, and its axes and origin; the scan's own without one. */
export function frameInUse(
  session: Session,
  named?: string,
): {
  readonly id: string | undefined;
  readonly origin: Vec3;
  readonly axes: Readonly<Record<CutAxis, Vec3>>;
} {
  const last = session.run.value.steps.findLast(
    ({ id, matrix }) => matrix !== undefined && (named === undefined || id === named),
  );
  const m = last?.matrix;
  if (!m) return { id: undefined, origin: [0, 0, 0], axes: { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] } };
  return {
    id: last.id,
    origin: [m[12]!, m[13]!, m[14]!],
    axes: { x: [m[0]!, m[1]!, m[2]!], y: [m[4]!, m[5]!, m[6]!], z: [m[8]!, m[9]!, m[10]!] },
  };
}

/** From where to where the scan reaches along an axis of the frame, or along a plane's normal from the plane, mm. */
export function reach(session: Session, step: SectionStep): readonly [from: number, to: number] {
  const bounds = session.scan.value?.bounds;
  if (!bounds) return [0, 0];
  const { min, max } = bounds;
  const { origin, axes } = frameInUse(session);
  let from: Vec3 = origin;
  let along: Vec3;
  if ('axis' in step) along = axes[step.axis];
  else {
    const feature = session.run.value.steps.find(({ id }) => id === step.plane)?.feature;
    if (feature?.kind !== 'plane') return [-50, 50];
    from = feature.point;
    along = feature.normal;
  }
  const corners = [min[0], max[0]].flatMap((x) =>
    [min[1], max[1]].flatMap((y) => [min[2], max[2]].map((z): Vec3 => [x, y, z])),
  );
  const levels = corners.map((corner) => vec3.dot(vec3.subtract(corner, from), along));
  return [Math.floor(Math.min(...levels)), Math.ceil(Math.max(...levels))];
}

export const levelOf = (step: SectionStep): number => ('axis' in step ? step.at : (step.offset ?? 0));

const working = new WeakSet<Session>();

/** Works out the section where it is now; while it is moved faster than it can be cut, the places between are left out. */
async function follow(session: Session): Promise<void> {
  if (working.has(session)) return;
  working.add(session);
  try {
    for (;;) {
      const step = session.cutting.peek()?.step;
      if (!step) return;
      const view = await session.measurer.tryStep(session.plan.peek(), [step], 'cut');
      const now = session.cutting.peek();
      if (!now) return;
      if (!view.moot) session.cutting.value = { step: now.step, view };
      if (now.step === step) return;
    }
  } catch (error) {
    session.say({ tone: 'refusal', message: (error as Error).message });
  } finally {
    working.delete(session);
  }
}

function setCut(session: Session, step: SectionStep): void {
  const view = session.cutting.peek()?.view;
  session.cutting.value = { step, ...(view && { view }) };
  void follow(session);
}

/** Begins a section: square to z of the frame, in the middle of the scan. */
export function startCut(session: Session, axis: CutAxis = 'z'): void {
  const { id } = frameInUse(session);
  const base = { step: 'section', id: session.freeId('section'), ...(id !== undefined && { in: id }) } as const;
  const [from, to] = reach(session, { ...base, axis, at: 0 });
  setCut(session, { ...base, axis, at: Math.round((from + to) / 2) });
}

/** Begins a section parallel to a plane. */
export function startCutOn(session: Session, plane: string): void {
  setCut(session, { step: 'section', id: session.freeId('section'), plane, offset: 0 });
}

/** Moves the section to a coordinate of its axis, or an offset of its plane, mm. */
export function moveCut(session: Session, to: number): void {
  const step = session.cutting.peek()?.step;
  if (!step || !Number.isFinite(to)) return;
  setCut(session, 'axis' in step ? { ...step, at: to } : { ...step, offset: to });
}

export function dropCut(session: Session): void {
  session.cutting.value = undefined;
}

/** Puts the section into the plan and shows its drawing. */
export async function keepCut(session: Session): Promise<boolean> {
  const cutting = session.cutting.peek();
  if (!cutting || cutting.view?.refusal) return false;
  const kept = await session.append([cutting.step]);
  if (kept) {
    session.cutting.value = undefined;
    session.section.value = cutting.step.id;
  }
  return kept;
}
