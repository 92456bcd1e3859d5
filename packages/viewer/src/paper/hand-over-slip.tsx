import { CAUTION, type LengthUnit } from '@fettle/io';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { DeliverRequest } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';
import { NumberField } from './number-field.js';
import { saveFile } from './save-files.js';
import { SelectField } from './select-field.js';
import { SlipSheet } from './slip-sheet.js';

const formats = ['ply', 'stl', 'obj', '3mf'] as const;
const units: readonly LengthUnit[] = ['mm', 'cm', 'm', 'inch'];

/** Each file one button, all in one zip, and what the numbers are good for. */
export function HandOverSlip({ desk }: { readonly desk: Desk }): JSX.Element {
  const { session } = desk;
  const busy = useSignal<string | undefined>(undefined);
  const said = useSignal('');
  const format = useSignal<(typeof formats)[number]>('ply');
  const unit = useSignal<LengthUnit>('mm');
  const triangles = useSignal<number | undefined>(undefined);
  const plan = session.plan.value;
  const frame = plan.steps.findLast(({ step }) => step === 'frame')?.id;
  const sections = plan.steps.filter(({ step }) => step === 'section').map(({ id }) => id);
  const hasFeature = plan.steps.some(({ step }) => step === 'fit' || step === 'construct');

  async function hand(name: string, what: DeliverRequest): Promise<void> {
    busy.value = name;
    said.value = '';
    try {
      const files = await session.measurer.deliver(plan, what, (file) => {
        busy.value = `${name}: ${file}`;
      });
      for (const file of files) saveFile(file);
      said.value = `Saved: ${files.map((file) => file.name).join(', ')}`;
    } catch (error) {
      session.say({ tone: 'refusal', ...refusalOf(error) });
    } finally {
      busy.value = undefined;
    }
  }
  const file = (name: string, hint: string, what: DeliverRequest, disabled = false): JSX.Element => (
    <li key={name}>
      <Control
        name={name}
        hint={hint}
        disabled={disabled || busy.value !== undefined || plan.steps.length === 0}
        onAct={() => void hand(name, what)}
      />
      <span>{hint}</span>
    </li>
  );

  return (
    <SlipSheet desk={desk} title="Hand over" focus=".hand-all button">
      <p class="caution">
        <b>Caution.</b> {CAUTION}
      </p>
      <p class="row hand-all">
        <Control
          name="All in one zip"
          hint="Everything below in one file"
          kind="main"
          disabled={busy.value !== undefined || plan.steps.length === 0}
          onAct={() => void hand('All', 'all')}
        />
        <span role="status">{busy.value ? `Making ${busy.value} …` : said.value}</span>
      </p>
      <ul class="files">
        {file('Geometry for CAD', 'STEP: named planes, axes, circles, points and sections', 'cad', !hasFeature)}
        {sections.map((id) => file(`Drawing of ${id}`, 'SVG, true to scale', { drawing: id }))}
        {file('Report', 'one HTML page to print and file', 'report')}
        {file('Job sheet', 'CSV', 'job-sheet')}
        {file('Results', 'JSON, every digit', 'results')}
        {file('Plan', 'JSON, to measure the next scan alike', 'plan')}
      </ul>
      <fieldset class="scan-file">
        <legend>Scan {frame === undefined ? 'as scanned' : `in ${frame}`}</legend>
        <SelectField
          name="Format"
          hint="PLY and STL are compact; OBJ is read by nearly everything; 3MF keeps its unit"
          value={format.value}
          offers={formats.map((name) => ({ value: name, words: name.toUpperCase() }))}
          onPick={(name) => {
            format.value = name as (typeof formats)[number];
          }}
        />
        <SelectField
          name="Unit"
          hint="Of the numbers in the file. Most formats do not tell it: what opens the file has to be told the same"
          value={unit.value}
          offers={units}
          onPick={(name) => {
            unit.value = name as LengthUnit;
          }}
        />
        <NumberField
          name="Simplified to"
          hint="No more triangles than this, for programs that are slow with many. Empty: all of them"
          unit="triangles"
          placeholder="all"
          value={triangles.value}
          onNumber={(count) => {
            triangles.value = count === undefined ? undefined : Math.max(1, Math.round(count));
          }}
        />
        <Control
          name="Scan"
          hint="The scan on its datum frame"
          disabled={busy.value !== undefined || session.scan.value === undefined}
          onAct={() =>
            void hand('Scan', {
              scan: {
                format: format.value,
                units: unit.value,
                ...(triangles.value !== undefined && { triangles: triangles.value }),
              },
            })
          }
        />
      </fieldset>
    </SlipSheet>
  );
}
