import { type SectionStep, type Vec3, vec3 } from '@fettle/geom';
import { type Signal, signal } from '@preact/signals';
import { rounded } from '../choosing/draft-steps.js';
import type { Session } from '../session/session.js';
import type { ProfileView, SectionView } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import { frameInUse } from './cutting.js';
import { dropStretch, stretchingOf } from './stretching.js';

/** How a section's outlines are told apart into lines and arcs, and what came of it. */
export interface Profiling {
  readonly isOn: boolean;
  /** Departures up to this much are no reason for another piece, mm; undefined: as the outline's own noise and waves tell. */
  readonly tolerance: number | undefined;
  /** What it was found for. */
  readonly of?: SectionView;
  readonly view?: ProfileView;
  /** Why there is none. */
  readonly refusal?: string;
}

const known = new WeakMap<Session, Signal<Profiling>>();

export function profilingOf(session: Session): Signal<Profiling> {
  const before = known.get(session);
  if (before) return before;
  const made = signal<Profiling>({ isOn: true, tolerance: undefined });
  known.set(session, made);
  return made;
}

export function setProfiling(session: Session, change: Partial<Pick<Profiling, 'isOn' | 'tolerance'>>): void {
  const profiling = profilingOf(session);
  const { isOn, tolerance } = { ...profiling.peek(), ...change };
  profiling.value = { isOn, tolerance };
}

/** Finds the profile of a section of the plan, unless it is known or not wanted. */
export async function findProfile(session: Session, id: string, section: SectionView): Promise<void> {
  const profiling = profilingOf(session);
  const { isOn, tolerance, of } = profiling.peek();
  if (!isOn || of === section || section.polylines.length === 0) return;
  const asked: Profiling = { isOn, tolerance, of: section };
  profiling.value = asked;
  try {
    const view = await session.measurer.profile(session.plan.peek(), id, tolerance);
    if (profiling.peek() === asked && !view.moot) profiling.value = { ...asked, view };
  } catch (error) {
    if (profiling.peek() === asked) profiling.value = { ...asked, refusal: refusalOf(error).message };
  }
}

/** The step of a section of the plan. */
export const sectionStepOf = (session: Session, id: string): SectionStep | undefined =>
  session.plan.value.steps.find((step): step is SectionStep => step.step === 'section' && step.id === id);

/**
 * Puts the profile of an outline on the job sheet: of the one picked from, else of the longest. Or takes it off again.
 *
 * @returns false, with a notice, where the plan does not run with it
 */
export async function keepProfile(session: Session, id: string): Promise<boolean> {
  const step = sectionStepOf(session, id);
  if (!step) return false;
  const { profile, ...bare } = step;
  if (profile) return await session.edit(id, bare);
  const { tolerance } = profilingOf(session).peek();
  const picked = stretchingOf(session).peek();
  const near = picked?.section === id ? { near: inAxesOf(session, step, picked.at) } : {};
  dropStretch(session);
  return await session.edit(id, { ...step, profile: { ...near, ...(tolerance !== undefined && { tolerance }) } });
}

/** A place as the section's own step tells places: in its frame, else in scan axes. */
function inAxesOf(session: Session, step: SectionStep, place: Vec3): [number, number, number] {
  const frame = 'in' in step && step.in !== undefined ? frameInUse(session, step.in) : undefined;
  if (!frame) return rounded(place);
  const d = vec3.subtract(place, frame.origin);
  return rounded([vec3.dot(d, frame.axes.x), vec3.dot(d, frame.axes.y), vec3.dot(d, frame.axes.z)]);
}
