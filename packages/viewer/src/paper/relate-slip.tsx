import { useSignal, useSignalEffect } from '@preact/signals';
import type { JSX } from 'preact';
import type { Relation } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import type { Desk } from './desk.js';
import { ValueLine } from './sheet-value.js';
import { SlipSheet } from './slip-sheet.js';

/** All that can be built or measured between the rows selected, with its values, before any of it is chosen. */
export function RelateSlip({ desk }: { readonly desk: Desk }): JSX.Element {
  const { session } = desk;
  const found = useSignal<readonly Relation[]>([]);
  const state = useSignal<'looking' | 'found' | string>('looking');
  const added = useSignal<readonly string[]>([]);
  useSignalEffect(() => {
    const ids = session.selected.value;
    const plan = session.plan.peek();
    let isCurrent = true;
    found.value = [];
    added.value = [];
    if (ids.length === 0 || ids.length > 3) {
      state.value = 'found';
      return;
    }
    state.value = 'looking';
    session.measurer.relations(plan, ids).then(
      (relations) => {
        if (!isCurrent) return;
        found.value = relations;
        state.value = 'found';
      },
      (error: unknown) => {
        if (isCurrent) state.value = refusalOf(error).message;
      },
    );
    return () => {
      isCurrent = false;
    };
  });
  const ids = session.selected.value;
  return (
    <SlipSheet desk={desk} title="Relate" focus=".slip-body button">
      {ids.length === 0 || ids.length > 3 ? (
        <p>
          Select two or three rows of the job sheet: hold Ctrl for the second. One row shows what is built from it
          alone.
        </p>
      ) : (
        <p class="between">
          {ids.length > 1 ? 'Between' : 'From'} {ids.join(', ')}
        </p>
      )}
      {state.value === 'looking' && <p role="status">Looking …</p>}
      {state.value !== 'looking' && state.value !== 'found' && <p class="why">{state.value}</p>}
      {state.value === 'found' && ids.length > 0 && ids.length < 4 && found.value.length === 0 && (
        <p>Nothing can be built or measured between these.</p>
      )}
      <Offers
        relations={found.value}
        added={added.value}
        onChoose={async (relation) => {
          if (await session.append([relation.step])) added.value = [...added.value, relation.step.id];
        }}
      />
    </SlipSheet>
  );
}

interface OffersProps {
  readonly relations: readonly Relation[];
  readonly added: readonly string[];
  onChoose(relation: Relation): void;
}

function Offers({ relations, added, onChoose }: OffersProps): JSX.Element {
  const step = (list: HTMLElement, by: number): void => {
    const buttons = [...list.querySelectorAll('button')];
    const at = buttons.indexOf(document.activeElement as HTMLButtonElement);
    buttons[Math.max(0, Math.min(buttons.length - 1, at + by))]?.focus();
  };
  return (
    <ul
      class="offers"
      onKeyDown={(event) => {
        const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
        if (by === undefined) return;
        event.preventDefault();
        event.stopPropagation();
        step(event.currentTarget, by);
      }}
    >
      {relations.map((relation) => {
        const isAdded = added.includes(relation.step.id);
        return (
          <li key={relation.step.id}>
            <button type="button" class="offer" disabled={isAdded} onClick={() => onChoose(relation)}>
              <span class="what">
                {relation.words}
                {isAdded && ', on the sheet'}
              </span>
              {relation.view.row?.values.map((value) => (
                <ValueLine key={value.name} value={value} />
              ))}
            </button>
          </li>
        );
      })}
    </ul>
  );
}
