import './drawing.css';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import { registerKeys } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import { CutBar } from './cut-bar.js';
import { startCut } from './cutting.js';
import { cutKeys, drawingKeys } from './drawing-keys.js';
import type { Picking } from './picking.js';
import { ProfileBar } from './profile-bar.js';
import { Sheet } from './sheet.js';
import { dropStretch } from './stretching.js';

function closeDrawing(session: Session): void {
  session.section.value = undefined;
  dropStretch(session);
}

/** The section that is being moved or was selected, as a drawing true to scale. */
export function SectionDrawing({ session }: { readonly session: Session }): JSX.Element | null {
  const inUse = useSignal<Picking | undefined>(undefined);
  useEffect(
    () =>
      registerKeys('drawing', [
        {
          key: 's',
          words: 'Cut a section',
          when: () => session.scan.peek() !== undefined,
          act: () => startCut(session),
        },
        {
          key: 'shift+s',
          words: 'Close the drawing; the section stays in the plan',
          when: () => session.cutting.peek() === undefined && session.section.peek() !== undefined,
          act: () => closeDrawing(session),
        },
        ...cutKeys(session),
        ...drawingKeys(session, () => inUse.peek()),
      ]),
    [session, inUse],
  );
  const cutting = session.cutting.value;
  const shown = session.run.value.steps.find(({ id }) => id === session.section.value);
  const section = cutting ? cutting.view?.section : shown?.section;
  if (!cutting && !section) return null;
  const id = cutting?.step.id ?? shown?.id ?? '';
  return (
    <section class="section-drawing" aria-label={`Section ${id}`}>
      <header>
        <h2>
          Section <span>{id}</span>
        </h2>
        {cutting ? <CutBar session={session} /> : <ProfileBar session={session} id={id} />}
        {!cutting && (
          <button
            type="button"
            title="Close the drawing; the section stays in the plan (Shift + S)"
            aria-keyshortcuts="Shift+S"
            onClick={() => closeDrawing(session)}
          >
            Close
          </button>
        )}
      </header>
      {section && <Sheet key={id} session={session} section={section} id={id} inUse={inUse} />}
    </section>
  );
}
