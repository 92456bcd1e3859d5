import { isPlanFile } from '../session/plan-file.js';
import type { Session } from '../session/session.js';

/** Opens what was dropped or chosen: scans and plans, in whatever order they come. Of several of a kind the last is taken. */
export async function takeFiles(session: Session, files: readonly File[]): Promise<void> {
  const plans: File[] = [];
  const scans: File[] = [];
  for (const file of files) ((await isPlanFile(file)) ? plans : scans).push(file);
  const scan = scans.at(-1);
  if (scan && scans.length > 1)
    session.say({
      tone: 'word',
      message: `One scan is measured at a time: ${scan.name} is opened, of ${scans.length}.`,
    });
  if (scan) await session.openFile(scan);
  const plan = plans.at(-1);
  if (plan) await session.openFile(plan);
}
