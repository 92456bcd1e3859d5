import type { JSX } from 'preact';
import { Control } from './control.js';
import type { Desk } from './desk.js';
import { SlipSheet } from './slip-sheet.js';

/** Names what rests on rows before they are taken out with it. */
export function RemoveSlip({ desk, ids }: { readonly desk: Desk; readonly ids: readonly string[] }): JSX.Element {
  const { session } = desk;
  const resting = [...new Set(ids.flatMap((id) => session.restingOn(id)))].filter((id) => !ids.includes(id));
  const close = (): void => {
    desk.slip.value = undefined;
  };
  return (
    <SlipSheet desk={desk} title="Take out">
      <p>
        {resting.length === 1 ? 'One step rests' : `${resting.length} steps rest`} on {ids.join(', ')} and would go too:
      </p>
      <ul class="named">
        {resting.map((id) => (
          <li key={id}>{id}</li>
        ))}
      </ul>
      <p class="row">
        <Control
          name={`Take out all ${ids.length + resting.length}`}
          kind="main"
          onAct={() => {
            close();
            void session.remove(ids);
          }}
        />
        <Control name="Keep them" onAct={close} />
      </p>
    </SlipSheet>
  );
}
