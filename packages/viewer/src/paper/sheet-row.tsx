import type { Step } from '@fettle/geom';
import type { JSX } from 'preact';
import type { StepView } from '../worker/protocol.js';
import type { Desk } from './desk.js';
import { NameOf } from './name-of.js';
import { ValueLine } from './sheet-value.js';
import { extentWords, stepWords } from './step-words.js';

export interface SheetRowProps {
  readonly desk: Desk;
  readonly step: Step;
  readonly view: StepView | undefined;
  /** Whether the tab key comes to this row. */
  readonly isEntry: boolean;
  onPress(event: MouseEvent): void;
}

/** One step on the job sheet: a numbered row with its values, or a lighter line where it gives none. */
export function SheetRow({ desk, step, view, isEntry, onPress }: SheetRowProps): JSX.Element {
  const { session } = desk;
  const { row, refusal } = view ?? {};
  const isSelected = session.selected.value.includes(step.id);
  const isWaiting = refusal !== undefined && refusal.step !== undefined && refusal.step !== step.id;
  return (
    <tr
      data-id={step.id}
      class={`${row || refusal ? 'counted' : 'light'}${refusal ? ' refused' : ''}`}
      aria-selected={isSelected}
      tabIndex={isEntry ? 0 : -1}
      onClick={onPress}
      onFocus={() => {
        desk.at.value = step.id;
      }}
    >
      <td class="number-cell">{row ? <span class="balloon">{row.balloon}</span> : refusal ? <b>!</b> : ''}</td>
      <th scope="row">
        <NameOf desk={desk} step={step} />
        <span class="what">{row?.what ?? stepWords(step)}</span>
        {row?.note && <span class="note">{row.note}</span>}
        {!row && view && <span class="what">{extentWords(view)}</span>}
      </th>
      <td class="values">
        {refusal ? (
          <span class="why">{isWaiting ? `waits for ${refusal.step}` : refusal.message}</span>
        ) : (
          row?.values.map((value) => <ValueLine key={value.name} value={value} />)
        )}
        {row && row.warnings.length > 0 && (
          <span class="warned">⚠ {row.warnings.length === 1 ? 'a warning' : `${row.warnings.length} warnings`}</span>
        )}
      </td>
    </tr>
  );
}
