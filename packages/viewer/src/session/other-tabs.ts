import { type HeldJob, loadWith } from './held-job.js';
import { browserKeep } from './keep.js';
import type { Session } from './session.js';

const lookAt = (job: number) => ({ name: 'Look at a copy', act: () => loadWith('look', job) });
const takeOver = (job: number, name: string) => ({ name, act: () => loadWith('take', job) });

/** Says which job this tab has where others have theirs, and offers those. */
export async function tellOfOtherTabs(session: Session, { number, isHeld, others, held }: HeldJob): Promise<void> {
  const say = (message: string, acts: readonly ReturnType<typeof lookAt>[]) =>
    session.say({ tone: 'word', code: 'other-tab', message, acts });
  if (!isHeld) {
    const message =
      'This is a copy of the job that another tab has. Nothing done here is kept; load the page again for a job of its own.';
    return say(message, [takeOver(number, 'Take the job over')]);
  }
  const [other] = others;
  if (other === undefined) return;
  const job = await browserKeep(Promise.resolve({ number: other, held }))
    .loadHistory()
    .catch(() => undefined);
  const title = job?.plans[job.at]?.title;
  const named = title === undefined ? 'a job' : `the job "${title}"`;
  const message = `Fettle is open in another tab too, with ${named}. This tab has a job of its own, kept apart from it.`;
  say(message, [lookAt(other), takeOver(other, 'Take it over')]);
}

/** Says that another tab has taken the job. */
export function tellItIsTaken(session: Session, number: number): void {
  const message = 'Another tab has taken this job over. What is done here from now on is not kept.';
  session.say({ tone: 'refusal', code: 'job-taken', message, acts: [takeOver(number, 'Take it back')] });
}
