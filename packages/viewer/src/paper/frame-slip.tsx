import type { Feature, SheetValue, Step } from '@fettle/geom';
import { useComputed, useSignal, useSignalEffect } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect } from 'preact/hooks';
import type { StepView } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';
import {
  choiceOf,
  type Datum,
  datumsOf,
  type FrameChoice,
  flipped,
  frameOffers,
  frameSteps,
  letterOf,
  missingWords,
  planesOf,
  senseFrame,
  withAxes,
  withStepsFor,
} from './frame-choice.js';
import { SelectField } from './select-field.js';
import { ValueLine } from './sheet-value.js';
import { SlipSheet } from './slip-sheet.js';
import { Squareness } from './squareness.js';

const letters = ['x', 'y', 'z'] as const;
type Letter = (typeof letters)[number];

const byHints = {
  parts: 'A surface, an axis or edge on it, and where the axes begin',
  planes: 'Three faces that stand across each other, the first one counting most',
} as const;

/** A datum frame on plane, line and point, or on three planes: tried while it is chosen, with the triad in the scene. */
export function FrameSlip({ desk, changes }: { readonly desk: Desk; readonly changes?: string }): JSX.Element {
  const { session } = desk;
  const datums = useComputed((): readonly Datum[] => {
    const features = new Map<string, Feature>();
    for (const { id, feature } of session.run.value.steps) if (feature) features.set(id, feature);
    return datumsOf(session.plan.value, features, changes);
  });
  const chosen = useSignal<FrameChoice | undefined>(startOf(desk, changes));
  const choice = useComputed(
    () => chosen.value ?? senseFrame(session.plan.value, datums.value, meant(session.selected.value)),
  );
  const tried = useSignal<StepView | undefined>(undefined);
  const angles = useSignal<readonly SheetValue[]>([]);
  useSignalEffect(() => {
    const plan = session.plan.value;
    const free = (word: string): string => session.freeId(word);
    const steps = frameSteps(choice.value, datums.value, free('trial'), free);
    const planes = planesOf(choice.value, datums.value);
    let isCurrent = true;
    const ask = async (): Promise<void> => {
      const view = steps.length === 0 ? undefined : await session.measurer.tryStep(plan, steps, 'frame');
      if (!isCurrent || view?.moot) return;
      tried.value = view;
      session.triedFrame.value = view?.matrix;
      const square = squareStep(planes, free('trial'));
      const squareView = square && (await session.measurer.tryStep(plan, [square], 'frame'));
      if (isCurrent && !squareView?.moot) angles.value = squareView?.row?.values ?? [];
    };
    ask().catch((error: unknown) => {
      if (isCurrent) tried.value = { id: 'trial', step: 'frame', refusal: refusalOf(error) };
    });
    return () => {
      isCurrent = false;
    };
  });
  useEffect(
    () => () => {
      session.triedFrame.value = undefined;
    },
    [session],
  );
  const set = (change: Partial<FrameChoice>): void => {
    chosen.value = { ...choice.value, ...change };
  };
  const accept = async (): Promise<void> => {
    const id = changes ?? session.freeId('datum');
    const steps = frameSteps(choice.value, datums.value, id, (word) => session.freeId(word));
    const isDone = changes
      ? await session.usePlan(withStepsFor(session.plan.value, changes, steps))
      : await session.append(steps);
    if (isDone) desk.slip.value = undefined;
  };

  const now = choice.value;
  const missing = missingWords(now);
  const refusal = missing ?? tried.value?.refusal?.message;
  const flip = (axis: Letter): void => {
    chosen.value = flipped(now, axis);
  };
  return (
    <SlipSheet
      desk={desk}
      title={changes ? `Datum frame ${changes}` : 'Datum frame'}
      focus=".accept button:enabled"
      keys={Object.fromEntries(letters.map((letter) => [letter, () => flip(letter)]))}
    >
      <fieldset class="choice" aria-label="Made from">
        {(['parts', 'planes'] as const).map((by) => (
          <label key={by} title={byHints[by]}>
            <input type="radio" name="frame-by" checked={now.by === by} onChange={() => set(switched(now, by))} />
            {by === 'parts' ? 'Plane, line, point' : 'Three planes'}
          </label>
        ))}
      </fieldset>
      <Parts choice={now} datums={datums.value} onChange={set} />
      <Axes
        choice={now}
        onFlip={flip}
        onAxis={(part, letter) => {
          chosen.value = withAxes(now, part, letter);
        }}
      />
      {refusal ? (
        <p class="why" role="status">
          {refusal}
        </p>
      ) : (
        <div class="read-out" role="status">
          <Squareness planes={planesOf(now, datums.value)} angles={angles.value} />
          {now.by === 'parts' && tried.value?.row?.values.map((value) => <ValueLine key={value.name} value={value} />)}
          {tried.value?.row?.uncertainty && <p class="trust">{tried.value.row.uncertainty}</p>}
          {tried.value?.row?.warnings.map(({ message }) => (
            <p key={message} class="warned">
              ⚠ {message}
            </p>
          ))}
        </div>
      )}
      <p class="row accept">
        <Control
          name={changes ? 'Change the frame' : 'Set the frame'}
          kind="main"
          keys={['Enter']}
          disabled={missing !== undefined || tried.value?.refusal !== undefined}
          onAct={() => void accept()}
        />
      </p>
    </SlipSheet>
  );
}

/** A single row is selected by having been kept last; several were selected for something. */
const meant = (selected: readonly string[]): readonly string[] => (selected.length > 1 ? selected : []);

function startOf({ session }: Desk, changes: string | undefined): FrameChoice | undefined {
  const step = session.plan.peek().steps.find(({ id }) => id === changes);
  return step?.step === 'frame' ? choiceOf(step) : undefined;
}

/** The step whose row tells the angles between the planes of a frame. */
function squareStep(planes: readonly string[], id: string): Step | undefined {
  const [a, b, c] = planes;
  if (a === undefined || b === undefined) return undefined;
  return c === undefined ? { step: 'measure', id, angle: [a, b] } : { step: 'frame', id, planes: [a, b, c] };
}

/** The choice made from the other kind of parts, keeping what fits. */
function switched({ by, meets, point }: FrameChoice, to: FrameChoice['by']): Partial<FrameChoice> {
  if (to === by) return {};
  if (to === 'planes') return { by: to, meets: undefined, ...(meets ? {} : { point: undefined }) };
  return { by: to, ...(point === undefined ? {} : { meets: true }) };
}

const noneOf = (offers: readonly unknown[]): string => (offers.length === 0 ? 'none there yet' : 'choose');

interface PartsProps {
  readonly choice: FrameChoice;
  readonly datums: readonly Datum[];
  onChange(change: Partial<FrameChoice>): void;
}

function Parts({ choice, datums, onChange }: PartsProps): JSX.Element {
  const { planes, lines, corners, points } = frameOffers(datums, choice);
  const isPlanes = choice.by === 'planes';
  const plain = (datum: Datum) => ({ value: datum.id, words: `${datum.id}, ${datum.feature.kind}` });
  const meet = [choice.plane, choice.line].join(', ');
  const pointOffers = [
    ...points.map(plain),
    ...corners.map(({ id }) => ({
      value: `meets ${id}`,
      words: isPlanes ? `${id}, plane` : `where ${meet} and ${id} meet`,
    })),
  ];
  return (
    <div class="parts">
      <SelectField
        name={isPlanes ? 'First plane' : 'Plane'}
        hint="The surface the machine stands or lies on: two turns and one height of the frame come of it"
        value={choice.plane}
        none={noneOf(planes)}
        offers={planes.map(plain)}
        onPick={(plane) => onChange({ plane })}
      />
      <SelectField
        name={isPlanes ? 'Second plane' : 'Line'}
        hint={
          isPlanes
            ? 'A face across the first: the third turn comes of it'
            : 'An axis or an edge: the third turn comes of it'
        }
        value={choice.line}
        none={noneOf(lines)}
        offers={lines.map((datum) =>
          datum.feature.kind === 'plane' && !isPlanes
            ? { value: datum.id, words: `where ${choice.plane} and ${datum.id} meet` }
            : plain(datum),
        )}
        onPick={(line) => onChange({ line })}
      />
      <SelectField
        name={isPlanes ? 'Third plane' : 'Point'}
        hint="Where the axes begin"
        value={choice.point && (choice.meets || isPlanes ? `meets ${choice.point}` : choice.point)}
        none={noneOf(pointOffers)}
        offers={pointOffers}
        onPick={(value) => {
          const meets = value?.startsWith('meets ');
          onChange({
            point: meets ? value?.slice('meets '.length) : value,
            meets: meets && !isPlanes ? true : undefined,
          });
        }}
      />
    </div>
  );
}

interface AxesProps {
  readonly choice: FrameChoice;
  onFlip(axis: Letter): void;
  onAxis(part: 'plane' | 'line', letter: Letter): void;
}

/** Where the axes that can be chosen run. */
const axisWords = {
  parts: { plane: 'Square to the plane', line: 'Along the line' },
  planes: { plane: 'Square to the first', line: 'Along the second' },
} as const;

function Axes({ choice, onFlip, onAxis }: AxesProps): JSX.Element {
  const { plus } = choice;
  return (
    <div class="axes">
      {(['plane', 'line'] as const).map((part) => (
        <SelectField
          key={part}
          name={axisWords[choice.by][part]}
          hint="The axis that runs this way"
          value={letterOf(plus[part])}
          offers={letters.map((letter) => ({
            value: letter,
            words: `${plus[part].startsWith('-') ? '−' : '+'}${letter}`,
          }))}
          onPick={(letter) => onAxis(part, letter as Letter)}
        />
      ))}
      <div class="flips">
        {letters.map((letter) => (
          <Control
            key={letter}
            name={`Flip ${letter}`}
            hint={`Let ${letter} point the other way`}
            keys={[letter]}
            onAct={() => onFlip(letter)}
          />
        ))}
      </div>
    </div>
  );
}
