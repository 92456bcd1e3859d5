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
  isFlat,
  type Known,
  knownDiameter,
  withDirection,
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
          value={now.criterion ?? 'least-squares'}
          offers={fitted.map(({ criterion, words }) => ({ value: criterion, words }))}
          onPick={(criterion) => set({ criterion: criterion as Criterion })}
        />
        <NumberField
          name="Leave out points farther off than"
          unit="sigmas"
          placeholder="none"
          value={now.reject}
          onNumber={(reject) => set({ reject })}
        />
        {isByExtremes && (
          <NumberField
            name="Leave out at the extremes"
            unit="% of the points"
            placeholder="none"
            value={now.trim === undefined ? undefined : Number((100 * now.trim).toPrecision(6))}
            onNumber={(percent) => set({ trim: percent === undefined ? undefined : percent / 100 })}
          />
        )}
        {canBeRobust(now) && (
          <label class="tick">
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
            none="its own"
            value={now.plane}
            offers={planes}
            onPick={(plane) => set({ plane })}
          />
        )}
        {hasDirection(now) && !isFlat(now) && (
          <DirectionField
            name="Along"
            value={now.known?.direction}
            rows={directed}
            frame={frame ?? 'the scan'}
            onDirection={(direction) => {
              draft.value = withDirection(now, direction, frame);
            }}
          />
        )}
        {hasDiameter(now) && (
          <DiameterFields
            known={knownDiameter(now)}
            sizes={sizes}
            onKnown={(known) => {
              draft.value = withKnown(now, known);
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

interface DiameterProps {
  readonly known: Known;
  readonly sizes: readonly string[];
  onKnown(known: Known): void;
}

function DiameterFields({ known, sizes, onKnown }: DiameterProps): JSX.Element {
  const value = known.by === 'row' ? known.from : known.by;
  return (
    <fieldset class="known">
      <legend>Diameter</legend>
      <SelectField
        name="Known from"
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
            unit="mm"
            value={known.value}
            onNumber={(number) => onKnown({ ...known, value: number ?? Number.NaN })}
          />
          <NumberField
            name="±"
            unit="mm"
            value={known.uncertainty}
            onNumber={(uncertainty) =>
              onKnown({ ...known, uncertainty, ...(uncertainty === undefined && { prior: undefined }) })
            }
          />
        </div>
      )}
      {(known.by === 'row' || (known.by === 'number' && known.uncertainty !== undefined)) && (
        <label class="tick">
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
