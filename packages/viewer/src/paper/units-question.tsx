import type { LengthUnit } from '@fettle/io';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { OpenedScan } from '../worker/protocol.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';

const inWords: Readonly<Record<LengthUnit, string>> = {
  mm: 'millimeters',
  cm: 'centimeters',
  m: 'meters',
  inch: 'inches',
};

/** Three digits of a length, mm. */
const rough = (mm: number): string => String(Number(mm.toPrecision(3)));

const extentOf = ({ bounds: { min, max } }: OpenedScan): string => max.map((m, i) => rough(m - min[i]!)).join(' × ');

/** Asked where a scan is so small or so large that its file was hardly in millimeters. */
export function UnitsQuestion({ desk }: { readonly desk: Desk }): JSX.Element | null {
  const scan = desk.session.scan.value;
  const settled = useSignal<OpenedScan | undefined>(undefined);
  if (scan?.likelyUnit === undefined || settled.value === scan) return null;
  const { likelyUnit } = scan;
  const others = (Object.keys(inWords) as LengthUnit[]).filter((unit) => unit !== likelyUnit && unit !== 'mm');
  const read = (unit: LengthUnit): void => {
    settled.value = scan;
    void desk.session.readAgain({ units: unit });
  };
  return (
    <section class="units-question" aria-label="Unit of the file">
      <p role="status">
        Read in millimeters, {scan.name} measures {extentOf(scan)} mm. Its file says nothing of a unit; by its size it
        is likelier in {inWords[likelyUnit]}.
      </p>
      <p class="row">
        <Control name={`Read it in ${inWords[likelyUnit]}`} kind="main" onAct={() => read(likelyUnit)} />
        {likelyUnit !== 'mm' && (
          <Control
            name="Keep millimeters"
            onAct={() => {
              settled.value = scan;
            }}
          />
        )}
        {others.map((unit) => (
          <Control key={unit} name={inWords[unit]} hint={`Read it in ${inWords[unit]}`} onAct={() => read(unit)} />
        ))}
      </p>
    </section>
  );
}
