import type { SheetRow, Step } from '@fettle/geom';
import { countText, fixed, unbroken } from '@fettle/io';
import type { JSX } from 'preact';
import { Control } from './control.js';
import type { Desk } from './desk.js';
import { leaveField } from './leave-field.js';
import { limitNames, limitsOf, withLimits } from './limits-of.js';
import { NumberField } from './number-field.js';
import { changeSlip, moveRow, removeRows } from './row-acts.js';
import { extentWords, stepWords } from './step-words.js';

/** All there is about the one row that is selected, and what can be changed of it. */
export function Card({ desk }: { readonly desk: Desk }): JSX.Element | null {
  const { session } = desk;
  const selected = session.selected.value;
  const step = selected.length === 1 ? session.plan.value.steps.find(({ id }) => id === selected[0]) : undefined;
  if (step === undefined) return null;
  const view = session.run.value.steps.find(({ id }) => id === step.id);
  const row = view?.row;
  return (
    <section class="slip card" aria-label={`About ${step.id}`}>
      <header>
        {row && <span class="balloon">{row.balloon}</span>}
        <h2>{step.id}</h2>
        <Acts desk={desk} step={step} />
      </header>
      <div class="slip-body">
        <p class="what">{row?.what ?? [stepWords(step), view && extentWords(view)].filter(Boolean).join(', ')}</p>
        {view?.refusal && <p class="why">{view.refusal.message}</p>}
        {row && <Trust row={row} />}
        {row && <LimitFields desk={desk} step={step} row={row} />}
        <label class="note-field" title="Told beside the row, on the page and in the report (M)">
          <span>Note</span>
          <input
            type="text"
            title="Told beside the row, on the page and in the report (M)"
            value={step.note ?? ''}
            onKeyDown={(event) => leaveField(event, step.note ?? '')}
            onChange={({ currentTarget }) => {
              const note = currentTarget.value.trim();
              void session.edit(step.id, ({ note: _, ...rest }) => (note ? { ...rest, note } : rest) as Step);
            }}
          />
        </label>
      </div>
    </section>
  );
}

function Acts({ desk, step }: { readonly desk: Desk; readonly step: Step }): JSX.Element {
  const { id } = step;
  const changes = changeSlip(desk);
  return (
    <div class="acts">
      {changes && (
        <Control
          name="Change"
          hint={changes.kind === 'fit' ? 'Criterion, rejection, known size' : 'Plane, line, point and axes'}
          kind="quiet"
          keys={['e']}
          onAct={() => {
            desk.slip.value = changes;
          }}
        />
      )}
      <Control
        name="Rename"
        kind="quiet"
        keys={['F2']}
        onAct={() => {
          desk.naming.value = id;
        }}
      />
      <Control name="Up" sign="up" kind="quiet" keys={['alt+ArrowUp']} onAct={() => void moveRow(desk, id, -1)} />
      <Control name="Down" sign="down" kind="quiet" keys={['alt+ArrowDown']} onAct={() => void moveRow(desk, id, 1)} />
      <Control name="Take out" kind="quiet" keys={['Delete']} onAct={() => removeRows(desk, [id])} />
    </div>
  );
}

/** How far the row can be trusted, in words. */
function Trust({ row }: { readonly row: SheetRow }): JSX.Element {
  const { where, uncertainty, region, advice = [], rms, form, used, rejected, warnings, frame } = row;
  return (
    <>
      {uncertainty && <p class="trust">{unbroken(uncertainty)}</p>}
      <dl class="figures">
        {rms !== undefined && <Figure name="rms" value={`${fixed(rms, 4)} mm`} />}
        {form !== undefined && <Figure name="form" value={`${fixed(form, 4)} mm`} />}
        {used !== undefined && <Figure name="points" value={countText(used)} />}
        {rejected !== undefined && <Figure name="rejected" value={countText(rejected)} />}
        <Figure name="told in" value={frame === 'scan' ? 'the scan’s axes' : frame} />
      </dl>
      {where && <p class="where">{where}</p>}
      {region && <p class="where">{region}</p>}
      {advice.map((words) => (
        <p key={words} class="trust">
          {words}
        </p>
      ))}
      {warnings.map(({ code, message }) => (
        <p key={`${code} ${message}`} class="warned">
          ⚠ {message}
        </p>
      ))}
    </>
  );
}

const Figure = ({ name, value }: { readonly name: string; readonly value: string }): JSX.Element => (
  <div>
    <dt>{name}</dt>
    <dd>{value}</dd>
  </div>
);

function LimitFields({ desk, step, row }: { desk: Desk; step: Step; row: SheetRow }): JSX.Element | null {
  const names = limitNames(step, row);
  if (names.length === 0) return null;
  const held = names.filter((name) => limitsOf(step, name) !== undefined).length;
  return (
    <details class="limits-of" open={held > 0}>
      <summary title="The least and the most that passes; the row tells whether it does (I)">
        Limits{held > 0 ? ` on ${held}` : ''}
      </summary>
      <table>
        <thead>
          <tr>
            <th scope="col">value</th>
            <th scope="col">at least</th>
            <th scope="col">at most</th>
          </tr>
        </thead>
        <tbody>
          {names.map((name) => {
            const limits = limitsOf(step, name) ?? {};
            const set = (end: 'min' | 'max', number: number | undefined): void => {
              if (number !== limits[end])
                void desk.session.edit(step.id, (now) =>
                  withLimits(now, name, { ...limitsOf(now, name), [end]: number }),
                );
            };
            return (
              <tr key={name}>
                <th scope="row">{name.replaceAll('-', ' ')}</th>
                {(['min', 'max'] as const).map((end) => (
                  <td key={end}>
                    <NumberField
                      name={`${name}, ${end === 'min' ? 'at least' : 'at most'}`}
                      hint={`The ${end === 'min' ? 'smallest' : 'largest'} ${name.replaceAll('-', ' ')} that passes; empty: no limit`}
                      hides
                      value={limits[end]}
                      onNumber={(number) => set(end, number)}
                    />
                  </td>
                ))}
              </tr>
            );
          })}
        </tbody>
      </table>
    </details>
  );
}
