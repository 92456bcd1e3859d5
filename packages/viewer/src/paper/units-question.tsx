import { isReadable, type LengthUnit, type ProbableUnit } from '@fettle/io';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { OpenedScan } from '../worker/protocol.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';

const inWords: Readonly<Record<ProbableUnit, string>> = {
  mm: 'millimeters',
  cm: 'centimeters',
  m: 'meters',
  inch: 'inches',
  µm: 'micrometers',
};

/** Three digits of a length, mm. */
const rough = (mm: number): string => Number(mm.toPrecision(3)).toLocaleString('en-US', { maximumFractionDigits: 6 });

const sidesOf = ({ bounds: { min, max } }: OpenedScan): number[] => max.map((m, i) => m - min[i]!);
const extentText = (sides: readonly number[]): string => `${sides.map(rough).join(' × ')} mm`;

/** Asked where a scan is so small or so large that its file was hardly in the unit it was read in. */
export function UnitsQuestion({ desk }: { readonly desk: Desk }): JSX.Element | null {
  const scan = desk.session.scan.value;
  const settled = useSignal<OpenedScan | undefined>(undefined);
  if (scan?.otherUnits === undefined || settled.value === scan) return null;
  const { otherUnits, source } = scan;
  const sides = sidesOf(scan);
  const largest = Math.max(...sides);
  const settle = (): void => {
    settled.value = scan;
  };
  const read = (unit: LengthUnit): void => {
    settle();
    void desk.session.readAgain({ units: unit });
  };
  const sizeIn = (size: number): string => extentText(sides.map((side) => (side / largest) * size));
  const readable = otherUnits.flatMap(({ unit, size }) => (isReadable(unit) ? [{ unit, size }] : []));
  const unread = otherUnits.find(({ unit }) => !isReadable(unit));
  return (
    <section class="units-question" aria-label="Unit of the file">
      <p role="status">
        Read in {inWords[source.unit]}, {scan.name} measures {extentText(sides)}, which is hard to believe of a machine
        or a part of one.{' '}
        {source.unitFrom === 'assumed' ? 'Its file says nothing of a unit' : 'Its file names that unit'}; by its size it
        is likelier in {otherUnits.map(({ unit }) => inWords[unit]).join(' or ')}.
      </p>
      {unread && <p>In micrometers it is {sizeIn(unread.size)}: export it again in millimeters.</p>}
      <ul class="units">
        {readable.map(({ unit, size }, i) => (
          <li key={unit}>
            <Control
              name={`Read it in ${inWords[unit]}`}
              {...(i === 0 && { kind: 'main' as const })}
              onAct={() => read(unit)}
            />
            {sizeIn(size)}
          </li>
        ))}
        <li>
          <Control name={`Keep ${inWords[source.unit]}`} onAct={settle} />
          {extentText(sides)}
        </li>
      </ul>
    </section>
  );
}
