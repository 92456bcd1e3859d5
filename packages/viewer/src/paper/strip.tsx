import type { JSX } from 'preact';
import { keyActs } from '../keys/keys.js';
import type { Hand } from '../session/session.js';
import { Control } from './control.js';
import type { Desk, Slip } from './desk.js';

export const hands: readonly {
  readonly hand: Hand;
  readonly name: string;
  readonly key: string;
  readonly hint: string;
}[] = [
  { hand: 'turn', name: 'Turn', key: 'v', hint: 'Turn and move the view' },
  { hand: 'grow', name: 'Grow', key: 'g', hint: 'Choose the smooth surface under the pointer' },
  { hand: 'brush', name: 'Brush', key: 'b', hint: 'Choose by painting' },
  { hand: 'box', name: 'Box', key: 'x', hint: 'Choose by a box drawn over the scan' },
  { hand: 'outline', name: 'Outline', key: 'l', hint: 'Choose by an outline drawn over the scan' },
];

/** Lays a slip out, or takes it away where it lies already. */
export function toggleSlip({ slip }: Desk, kind: Exclude<Slip['kind'], 'fit' | 'remove'>): void {
  slip.value = slip.value?.kind === kind ? undefined : { kind };
}

/** The act some part of the page registered for a key, where it can be done now. */
const actOf = (key: string) =>
  keyActs.value.findLast((act) => act.key === key && act.act && (act.when?.() ?? true))?.act;

/** The one strip of controls at the top of the page. */
export function Strip({ desk }: { readonly desk: Desk }): JSX.Element {
  const { session, slip } = desk;
  const hasScan = session.scan.value !== undefined;
  const { steps } = session.plan.value;
  const section = actOf('s');
  const open = slip.value?.kind;
  return (
    <header class="strip">
      <h1 class="maker">Fettle</h1>
      <div class="controls" role="toolbar" aria-label="Job">
        <Control name="Open" hint="Open a scan or a plan" keys={['o']} onAct={() => desk.chooser.open()} />
        <fieldset class="hands" disabled={!hasScan}>
          <legend class="unseen">What the pointer does</legend>
          {hands.map(({ hand, name, key, hint }) => (
            <Control
              key={hand}
              name={name}
              hint={hint}
              keys={[key]}
              pressed={session.hand.value === hand}
              onAct={() => {
                session.hand.value = hand;
              }}
            />
          ))}
        </fieldset>
        <Control
          name="Relate"
          hint="Build or measure between the rows selected"
          keys={['r']}
          pressed={open === 'relate'}
          disabled={!hasScan}
          onAct={() => toggleSlip(desk, 'relate')}
        />
        <Control
          name="Datum frame"
          hint="Set the axes on surfaces of the machine"
          keys={['d']}
          pressed={open === 'frame'}
          disabled={!hasScan}
          onAct={() => toggleSlip(desk, 'frame')}
        />
        <Control
          name="Section"
          hint="Cut the scan with a plane"
          keys={['s']}
          pressed={session.cutting.value !== undefined}
          disabled={!hasScan || section === undefined}
          onAct={() => section?.()}
        />
        <Control
          name="By hand"
          hint="Write down a size you measured by hand"
          keys={['n']}
          pressed={open === 'by-hand'}
          disabled={!hasScan}
          onAct={() => toggleSlip(desk, 'by-hand')}
        />
        <Control
          name="Hand over"
          hint="Files for CAD, the report and the plan"
          keys={['h']}
          pressed={open === 'hand-over'}
          disabled={!hasScan && steps.length === 0}
          onAct={() => toggleSlip(desk, 'hand-over')}
        />
        <Control
          name="Undo"
          sign="undo"
          keys={['ctrl+z']}
          disabled={!session.canUndo.value}
          onAct={() => session.undo()}
        />
        <Control
          name="Redo"
          sign="redo"
          keys={['ctrl+shift+z', 'ctrl+y']}
          disabled={!session.canRedo.value}
          onAct={() => session.redo()}
        />
        <Control
          name="Help"
          sign="?"
          keys={['?']}
          onAct={() => {
            desk.isHelpOpen.value = true;
          }}
        />
      </div>
    </header>
  );
}
