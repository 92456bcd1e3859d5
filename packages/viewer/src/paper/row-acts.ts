import type { Session } from '../session/session.js';
import type { Desk, Slip } from './desk.js';

/** Moves a row among its neighbors; says so where what it rests on, or what rests on it, is in the way. */
export async function moveRow({ session }: Desk, id: string, by: 1 | -1): Promise<void> {
  const { steps } = session.plan.value;
  const isAtEnd = steps.at(by > 0 ? -1 : 0)?.id === id;
  if ((await session.move(id, by)) || isAtEnd) return;
  const message =
    by > 0
      ? `${id} stays where it is: the next row rests on it.`
      : `${id} stays where it is: it rests on the row before it.`;
  session.say({ tone: 'word', code: 'row-stays', message });
}

/** The slip that changes the one row that is selected, if it is of a kind that can be changed. */
export function changeSlip({ session }: Desk): Slip | undefined {
  const [id, ...more] = session.selected.value;
  const step = session.plan.value.steps.find((one) => one.id === id);
  if (id === undefined || more.length > 0) return undefined;
  return step?.step === 'fit'
    ? { kind: 'fit', id }
    : step?.step === 'frame'
      ? { kind: 'frame', changes: id }
      : undefined;
}

/** Takes rows out; where others rest on them, a slip names those and asks first. */
export function removeRows({ session, slip }: Desk, ids: readonly string[]): void {
  if (ids.length === 0) return;
  const resting = ids.flatMap((id) => session.restingOn(id)).filter((id) => !ids.includes(id));
  if (resting.length > 0) slip.value = { kind: 'remove', ids };
  else void session.remove(ids);
}

/** Shows the drawing of a section where the row is one. */
export function showSection(session: Session, id: string): void {
  if (session.plan.value.steps.some((step) => step.id === id && step.step === 'section')) session.section.value = id;
}
