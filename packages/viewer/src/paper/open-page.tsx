import type { JSX } from 'preact';
import { Control } from './control.js';
import type { Desk } from './desk.js';

/** What an empty page says. */
export function OpenPage({ desk }: { readonly desk: Desk }): JSX.Element | null {
  const { session } = desk;
  if (session.scan.value !== undefined || session.opening.value !== undefined) return null;
  const { steps } = session.plan.value;
  return (
    <section class="open-page" aria-label="Begin">
      <ol>
        <li>
          Open a scan of the machine: drop the file here. It stays on this computer. This browser keeps a copy, so that
          a reload goes on where you were; “Forget its copy” beside the scan’s name takes it out.
        </li>
        <li>Click on its faces, bores and edges: each becomes a row of the job sheet, with how far to trust it.</li>
        <li>Set the datum frame, cut sections, and hand the files over to CAD.</li>
      </ol>
      {steps.length > 0 && (
        <p class="waiting">
          The plan “{session.plan.value.title}” is ready, with {steps.length} {steps.length === 1 ? 'step' : 'steps'}:
          open the scan to measure by it.
        </p>
      )}
      <p class="row">
        <Control name="Open" hint="Open a scan or a plan" kind="main" keys={['o']} onAct={() => desk.chooser.open()} />
        <Control
          name="Open the demo pump"
          hint="A made-up pump to try things on"
          keys={['p']}
          onAct={() => void session.openPump()}
        />
      </p>
      <p class="formats">
        PLY, OBJ, STL, OFF, PCD, 3MF, glTF binary and lists of points, gzipped or not. Or a saved plan.
      </p>
    </section>
  );
}
