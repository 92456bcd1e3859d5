import type { JSX } from 'preact';
import { useEffect, useMemo } from 'preact/hooks';
import { registerKeys } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import { late } from './late.js';
import '../style/page.css';
import { ByHandSlip } from './by-hand-slip.js';
import { Card } from './card.js';
import { createDesk, type Desk } from './desk.js';
import { DropFiles } from './drop-files.js';
import { FitSlip } from './fit-slip.js';
import { HandOverSlip } from './hand-over-slip.js';
import { Help } from './help.js';
import { JobSheet } from './job-sheet.js';
import { Notices } from './notices.js';
import { OpenPage } from './open-page.js';
import { OpeningProgress } from './opening-progress.js';
import { paperKeys, sheetKeys, slipKeys } from './paper-keys.js';
import { RelateSlip } from './relate-slip.js';
import { RemoveSlip } from './remove-slip.js';
import { Strip } from './strip.js';
import { TitleBlock } from './title-block.js';
import { UnitsQuestion } from './units-question.js';

// It knows what steps rest on, and with that most of geometry.
const FrameSlip = late(async () => (await import('./frame-slip.js')).FrameSlip);

/** The paper about the scene: the strip of controls, the job sheet with its slips, notes, help and title block. */
export function Paper({ session }: { readonly session: Session }): JSX.Element {
  const desk = useMemo(() => createDesk(session), [session]);
  useEffect(() => {
    const stops = [
      registerKeys('page', paperKeys(desk)),
      registerKeys('sheet', sheetKeys(desk)),
      registerKeys('slip', slipKeys),
    ];
    return () => {
      for (const stop of stops) stop();
    };
  }, [desk]);
  return (
    <>
      <Strip desk={desk} />
      <div class="over-scene">
        <OpenPage desk={desk} />
        <OpeningProgress session={session} />
        <UnitsQuestion desk={desk} />
        <Notices session={session} />
      </div>
      <aside class="side" aria-label="Job sheet and what is being done">
        <JobSheet desk={desk} />
        <SlipOf desk={desk} />
        <TitleBlock session={session} />
      </aside>
      <DropFiles desk={desk} />
      <Help desk={desk} />
    </>
  );
}

function SlipOf({ desk }: { readonly desk: Desk }): JSX.Element {
  const slip = desk.slip.value;
  switch (slip?.kind) {
    case 'relate':
      return <RelateSlip desk={desk} />;
    case 'frame':
      return <FrameSlip key={slip.changes} desk={desk} changes={slip.changes} />;
    case 'by-hand':
      return <ByHandSlip desk={desk} />;
    case 'hand-over':
      return <HandOverSlip desk={desk} />;
    case 'fit':
      return <FitSlip key={slip.id} desk={desk} id={slip.id} />;
    case 'remove':
      return <RemoveSlip desk={desk} ids={slip.ids} />;
    default:
      return <Card desk={desk} />;
  }
}
