import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { askedFields, type TableQuestions } from './asked-fields.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';
import { DirectionField } from './direction-field.js';
import {
  type Criterion,
  canBeAsked,
  canBeRobust,
  changedFit,
  criteria,
  type FitStep,
  hasDiameter,
  hasDirection,
  hasHalfAngle,
  isFlat,
  type Known,
  knownDiameter,
  knownHalfAngle,
  withDirection,
  withHalfAngle,
  withKnown,
} from './fit-change.js';
import { NumberField } from './number-field.js';
import { SelectField } from './select-field.js';
import { SlipSheet } from './slip-sheet.js';
import { TableQuestionFields } from './table-questions.js';

/** How a fit is made: criterion, rejection, what is known of it. */
export function FitSlip({ desk, id }: { readonly desk: Desk; readonly id: string }): JSX.Element | null {
  const { session } = desk;
  const { steps } = session.plan.value;
  const index = steps.findIndex((step) => step.id === id);
  const before = steps[index];
  const draft = useSignal<FitStep | undefined>(before?.step === 'fit' ? before : undefined);
  const now = draft.value;
  if (now === undefined) return null;
  const set = (change: Partial<FitStep>): void => {
    draft.value = changedFit(now, change);
  };
  const kinds = new Map(session.run.value.steps.map((view) => [view.id, view.feature?.kind]));
  const earlier = steps.slice(0, index).map((step) => step.id);
  const planes = earlier.filter((other) => kinds.get(other) === 'plane');
  const directed = earlier.filter((other) => {
    const kind = kinds.get(other);
    return kind !== undefined && kind !== 'point' && kind !== 'sphere';
  });
  // Coordinates in a step are all in one frame.
  const frame =
    now.in ?? (now.stretch ? undefined : steps.slice(0, index).findLast(({ step }) => step === 'frame')?.id);
  const sizes = steps
    .slice(0, index)
    .filter((step) => step.step === 'by-hand' && 'size' in step)
    .map((step) => step.id);
  const fitted = criteria.filter(({ shapes }) => shapes.includes(now.shape));
  const isByExtremes = now.criterion !== undefined;
  return (
    <SlipSheet desk={desk} title={`Fit of ${id}`} focus="select">
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void session.edit(id, withQuestions(now)).then((isDone) => {
            if (isDone) desk.slip.value = undefined;
          });
        }}
      >
        <SelectField
          name="Criterion"
          hint="What the best place is: nearest to all points, or touching the outermost"
          value={now.criterion ?? 'least-squares'}
          offers={fitted.map(({ criterion, words }) => ({ value: criterion, words }))}
          onPick={(criterion) => set({ criterion: criterion as Criterion })}
        />
        <NumberField
          name="Leave out points farther off than"
          hint="Points farther off than so many times the scatter are strays: 3.5 is usual. Empty: all count"
          unit="sigmas"
          placeholder="none"
          value={now.reject}
          onNumber={(reject) => set({ reject })}
        />
        {isByExtremes && (
          <NumberField
            name="Leave out at the extremes"
            hint="The outermost points of a scan are its errors: a share of them is left out first"
            unit="% of the points"
            placeholder="none"
            value={now.trim === undefined ? undefined : Number((100 * now.trim).toPrecision(6))}
            onNumber={(percent) => set({ trim: percent === undefined ? undefined : percent / 100 })}
          />
        )}
        {canBeRobust(now) && (
          <label class="tick" title="The surface that most of the points lie on is looked for first">
            <input
              type="checkbox"
              checked={now.robust ?? false}
              onChange={({ currentTarget }) => set({ robust: currentTarget.checked || undefined })}
            />
            The region holds some of another surface
          </label>
        )}
        {isFlat(now) && (
          <SelectField
            name="In the plane"
            hint="The flat surface it lies in; else the points themselves say how it lies"
            none="its own"
            value={now.plane}
            offers={planes}
            onPick={(plane) => set({ plane })}
          />
        )}
        {hasDirection(now) && !isFlat(now) && (
          <DirectionField
            name="Along"
            hint="A direction that is known, as of a bore that was made square to a face"
            value={now.known?.direction}
            rows={directed}
            frame={frame ?? 'the scan'}
            onDirection={(direction) => {
              draft.value = withDirection(now, direction, frame);
            }}
          />
        )}
        {hasDiameter(now) && (
          <KnownFields
            name="Diameter"
            unit="mm"
            known={knownDiameter(now)}
            sizes={sizes}
            onKnown={(known) => {
              draft.value = withKnown(now, known);
            }}
          />
        )}
        {hasHalfAngle(now) && (
          <KnownFields
            name="Half-angle"
            unit="°"
            known={knownHalfAngle(now)}
            sizes={[]}
            onKnown={(known) => {
              if (known.by !== 'row') draft.value = withHalfAngle(now, known);
            }}
          />
        )}
        {canBeAsked(now) && (
          <TableQuestionFields asked={now as TableQuestions} onAsk={(change) => set(change as Partial<FitStep>)} />
        )}
        <p class="row">
          <button type="submit" class="control main">
            Fit again
          </button>
          <Control
            name="Leave as it is"
            onAct={() => {
              desk.slip.value = undefined;
            }}
          />
        </p>
      </form>
    </SlipSheet>
  );
}

/** The step with its questions to the tables as a plan has them. */
function withQuestions({ screw, fit, nominal, ...step }: FitStep): FitStep {
  return { ...step, ...askedFields({ screw, fit, nominal } as TableQuestions) };
}

interface KnownProps {
  readonly name: string;
  readonly unit: string;
  readonly known: Known;
  /** Rows that have it. */
  readonly sizes: readonly string[];
  onKnown(known: Known): void;
}

/** A size that is known before: from a row, or a number that is given or weighed in. */
function KnownFields({ name, unit, known, sizes, onKnown }: KnownProps): JSX.Element {
  const value = known.by === 'row' ? known.from : known.by;
  return (
    <fieldset class="known">
      <legend>{name}</legend>
      <SelectField
        name="Known from"
        hint={`Where the ${name.toLowerCase()} comes from: the scan, or what was measured or drawn`}
        value={value}
        offers={[
          { value: 'scan', words: 'the scan' },
          { value: 'number', words: 'a number' },
          ...sizes.map((id) => ({ value: id, words: `${id}, by hand` })),
        ]}
        onPick={(chosen) => {
          if (chosen === undefined || chosen === 'scan') onKnown({ by: 'scan' });
          else if (chosen === 'number') onKnown({ by: 'number', value: Number.NaN });
          else onKnown({ by: 'row', from: chosen });
        }}
      />
      {known.by === 'number' && (
        <div class="reading">
          <NumberField
            name="Is"
            hint={`The ${name.toLowerCase()} as measured by hand, or as drawn`}
            unit={unit}
            value={known.value}
            onNumber={(number) => onKnown({ ...known, value: number ?? Number.NaN })}
          />
          <NumberField
            name="±"
            hint="How far off that may be, for 95 of 100 such statements. Empty: it is exact"
            unit={unit}
            value={known.uncertainty}
            onNumber={(uncertainty) =>
              onKnown({ ...known, uncertainty, ...(uncertainty === undefined && { prior: undefined }) })
            }
          />
        </div>
      )}
      {(known.by === 'row' || (known.by === 'number' && known.uncertainty !== undefined)) && (
        <label class="tick" title="Else it is taken as it stands, and the scan gives the place alone">
          <input
            type="checkbox"
            checked={known.prior ?? false}
            onChange={({ currentTarget }) => onKnown({ ...known, prior: currentTarget.checked || undefined })}
          />
          Weigh it against the scan, each by its ±
        </label>
      )}
    </fieldset>
  );
}
