import type { Step } from '@fettle/geom';
import { counted } from '@fettle/io';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { StepView } from '../worker/protocol.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';
import { moveRow, removeRows, showSection } from './row-acts.js';
import { SheetRow } from './sheet-row.js';
import { type Press, pressed, rowAfter } from './sheet-selection.js';

/** Steps that have no row but are looked at like one. */
const isLookedAt = ({ step }: Step): boolean => step === 'section';

/** Steps the sheet shows: all, or those with a row, sections and what was refused. */
export function shownSteps(
  steps: readonly Step[],
  views: ReadonlyMap<string, StepView>,
  all: boolean,
): readonly Step[] {
  return steps.filter((step) => {
    const view = views.get(step.id);
    return all || isLookedAt(step) || view === undefined || view.row !== undefined || view.refusal !== undefined;
  });
}

/** The job sheet: the steps in order, rows with their values and the rest as lighter lines. */
export function JobSheet({ desk }: { readonly desk: Desk }): JSX.Element {
  const { session, showsAll, at } = desk;
  const table = useRef<HTMLTableElement>(null);
  const { steps } = session.plan.value;
  const views = new Map(session.run.value.steps.map((view) => [view.id, view]));
  const shown = shownSteps(steps, views, showsAll.value);
  const ids = shown.map(({ id }) => id);
  const entry = at.value !== undefined && ids.includes(at.value) ? at.value : ids[0];
  const hidden = steps.length - shownSteps(steps, views, false).length;
  const failed = session.run.value.steps.flatMap(({ row }) =>
    row ? row.values.filter(({ verdict }) => verdict === 'outside') : [],
  ).length;

  const newest = session.selected.value.at(-1);
  useEffect(() => {
    if (newest !== undefined) rowOf(newest)?.scrollIntoView({ block: 'nearest' });
  }, [newest]);
  const rowOf = (id: string) => table.current?.querySelector<HTMLElement>(`tr[data-id="${id}"]`);
  const press = (id: string, how: Press): void => {
    const selected = pressed(session.selected.value, id, how, ids, at.value);
    session.selected.value = selected;
    if (!how.extends) at.value = id;
    if (selected.length === 1) showSection(session, id);
  };
  const listen = (event: KeyboardEvent): void => {
    const id = at.value;
    const next = event.altKey ? undefined : rowAfter(ids, id, event.key);
    if (next !== undefined) {
      if (event.shiftKey && id !== undefined)
        session.selected.value = [...new Set([...session.selected.value, id, next])];
      else if (!event.ctrlKey) session.selected.value = [next];
      rowOf(next)?.focus();
    } else if (id === undefined) return;
    else if (event.key === ' ') press(id, { toggles: true });
    else if (event.altKey && event.key === 'ArrowUp') void moveRow(desk, id, -1);
    else if (event.altKey && event.key === 'ArrowDown') void moveRow(desk, id, 1);
    else if (event.key === 'F2') desk.naming.value = id;
    else if (event.key === 'Delete')
      removeRows(desk, session.selected.value.includes(id) ? session.selected.value : [id]);
    else return;
    event.preventDefault();
    event.stopPropagation();
  };

  return (
    <section class="job-sheet" aria-label="Job sheet">
      <header>
        <h2>Job sheet</h2>
        <p class="run-state" role="status">
          {session.isRunning.value ? 'measuring …' : failed > 0 ? `✗ ${counted(failed, 'limit')} not held` : ''}
        </p>
        {hidden > 0 && (
          <Control
            name={showsAll.value ? 'Fold' : `${counted(hidden, 'step')} more`}
            hint="Regions and other steps that give no row"
            kind="quiet"
            pressed={showsAll.value}
            onAct={() => {
              showsAll.value = !showsAll.value;
            }}
          />
        )}
      </header>
      {/* biome-ignore lint/a11y/noStaticElementInteractions lint/a11y/useKeyWithClickEvents: escape does the same by key */}
      <div
        class="ruled"
        onClick={({ target, currentTarget }) => {
          if (target === currentTarget) session.selected.value = [];
        }}
      >
        {shown.length === 0 ? (
          <p class="empty">
            {session.scan.value ? (
              <>
                No rows yet. Take <b>Grow</b> and click on a face of the scan, then press Enter to keep what was fitted.
              </>
            ) : (
              'What is measured is listed here.'
            )}
          </p>
        ) : (
          // biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: its rows are selected, which a plain table has no word for
          <table ref={table} role="grid" aria-label="Job sheet" aria-multiselectable="true" onKeyDown={listen}>
            <thead>
              <tr>
                <th scope="col">no.</th>
                <th scope="col">feature</th>
                <th scope="col">value, limits, verdict</th>
              </tr>
            </thead>
            <tbody>
              {shown.map((step) => (
                <SheetRow
                  key={step.id}
                  desk={desk}
                  step={step}
                  view={views.get(step.id)}
                  isEntry={step.id === entry}
                  onPress={({ ctrlKey, metaKey, shiftKey }) =>
                    press(step.id, { toggles: ctrlKey || metaKey, extends: shiftKey })
                  }
                />
              ))}
            </tbody>
          </table>
        )}
      </div>
    </section>
  );
}
