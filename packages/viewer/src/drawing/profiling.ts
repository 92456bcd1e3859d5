import { type Signal, signal } from '@preact/signals';
import type { Session } from '../session/session.js';
import type { ProfileView, SectionView } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';

/** How a section's outlines are told apart into lines and arcs, and what came of it. */
export interface Profiling {
  readonly isOn: boolean;
  /** Departures up to this much are no reason for another piece, mm. */
  readonly tolerance: number;
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
  const made = signal<Profiling>({ isOn: true, tolerance: 0.05 });
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
