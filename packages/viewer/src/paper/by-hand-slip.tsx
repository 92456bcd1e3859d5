import { type Feature, LONGEST_NOTE, LONGEST_TITLE } from '@fettle/geom';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import type { TableQuestions } from './asked-fields.js';
import {
  type ByHandForm,
  byHandStep,
  dimensionsOf,
  isPlaced,
  lackingWords,
  type Use,
  withHandSize,
} from './by-hand-choice.js';
import type { Desk } from './desk.js';
import { NumberField } from './number-field.js';
import { idFrom } from './row-id.js';
import { SelectField } from './select-field.js';
import { SlipSheet } from './slip-sheet.js';
import { TableQuestionFields } from './table-questions.js';

const whatHints = {
  size: 'A diameter, a width, a length of one thing',
  distance: 'From one row of the job sheet to another',
} as const;

const uses: readonly { readonly use: Use; readonly words: string; readonly isForFits?: true }[] = [
  { use: 'alone', words: 'write it down' },
  { use: 'beside', words: 'hold it against what the scan says' },
  { use: 'weighed', words: 'weigh it in: the fit uses caliper and scan, each by its ±', isForFits: true },
  { use: 'taken', words: 'take it as it stands: the scan gives the place only', isForFits: true },
];

const useHints: Readonly<Record<Use, string>> = {
  alone: 'A row of its own, which other rows may use',
  beside: 'A row of its own that also tells the difference to the scan',
  weighed: 'The more exact of the two counts more',
  taken: 'The fit keeps to this size',
};

/** What a caliper or rule said: a row of its own, held against the scan or given to a fit. */
export function ByHandSlip({ desk }: { readonly desk: Desk }): JSX.Element {
  const { session } = desk;
  const features = new Map<string, Feature>();
  for (const { id, feature } of session.run.value.steps) if (feature) features.set(id, feature);
  const form = useSignal<ByHandForm>(formFor(desk, features));
  const now = form.value;
  const set = (change: Partial<ByHandForm>): void => {
    form.value = { ...form.value, ...change };
  };
  const { steps } = session.plan.value;
  const sized = [...features].filter(([, feature]) => dimensionsOf(feature).length > 0).map(([id]) => id);
  const isFit = steps.some(({ id, step }) => id === now.of && step === 'fit');
  const own = now.of === undefined ? [] : dimensionsOf(features.get(now.of));
  const canBeKnown = isFit && own[0] === 'diameter';
  const frame = steps.findLast(({ step }) => step === 'frame')?.id;
  const canBeAlong = [now.from, now.to].every((end) => end !== undefined && isPlaced(features.get(end)));
  const lacking = lackingWords(now);

  const add = async (): Promise<void> => {
    if (lacking !== undefined) return;
    const id = idFrom(now.id) || session.freeId('by-hand');
    const step = byHandStep({ ...now, id }, frame);
    const known = now.what === 'size' && (now.use === 'weighed' || now.use === 'taken') && now.of;
    const isDone = known
      ? await session.usePlan(withHandSize(session.plan.value, step, known, now.use === 'weighed'))
      : await session.append([step]);
    if (isDone) desk.slip.value = undefined;
  };

  return (
    <SlipSheet desk={desk} title="By hand" focus=".reading input">
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void add();
        }}
      >
        <fieldset class="choice" aria-label="What was measured">
          {(['size', 'distance'] as const).map((what) => (
            <label key={what} title={whatHints[what]}>
              <input type="radio" name="by-hand-what" checked={now.what === what} onChange={() => set({ what })} />
              {what === 'size' ? 'A size' : 'A distance'}
            </label>
          ))}
        </fieldset>
        <div class="reading">
          <NumberField
            name="Reads"
            hint="What the instrument showed"
            unit="mm"
            value={now.value}
            onNumber={(value) => set({ value })}
          />
          <NumberField
            name="±"
            hint="How far off the reading may be, for 95 of 100 such readings: of a caliper some 0.05 mm"
            unit="mm"
            value={now.uncertainty}
            onNumber={(uncertainty) => set({ uncertainty })}
          />
          <label title="The instrument, told on the job sheet">
            <span>With</span>
            <input
              type="text"
              list="instruments"
              value={now.instrument}
              onInput={({ currentTarget }) => set({ instrument: currentTarget.value })}
            />
            <datalist id="instruments">
              {['caliper', 'micrometer', 'bore gauge', 'depth gauge', 'steel rule'].map((name) => (
                <option key={name} value={name} />
              ))}
            </datalist>
          </label>
        </div>
        {now.what === 'size' ? (
          <>
            <SelectField
              name="Of"
              hint="The row it was measured on: a size alone, or one to hold against what the scan says"
              value={now.of}
              none="nothing on the scan"
              offers={sized}
              onPick={(of) => set(ofRow(of, features))}
            />
            {own.length > 1 && (
              <SelectField
                name="Its"
                hint="Which of its sizes was measured"
                value={now.dimension}
                offers={own}
                onPick={(dimension) => set({ dimension: dimension as ByHandForm['dimension'] })}
              />
            )}
            {now.of !== undefined && (
              <fieldset class="uses">
                <legend>And then</legend>
                {uses
                  .filter(({ isForFits }) => !isForFits || canBeKnown)
                  .map(({ use, words }) => (
                    <label key={use} title={useHints[use]}>
                      <input type="radio" name="by-hand-use" checked={now.use === use} onChange={() => set({ use })} />
                      {words}
                    </label>
                  ))}
              </fieldset>
            )}
            <TableQuestionFields
              asked={now.asked ?? {}}
              onAsk={(change) => set({ asked: { ...now.asked, ...change } as TableQuestions })}
            />
          </>
        ) : (
          <>
            <SelectField
              name="From"
              hint="The row it was measured from"
              value={now.from}
              none="choose"
              offers={[...features.keys()]}
              onPick={(from) => set({ from, along: undefined })}
            />
            <SelectField
              name="To"
              hint="The row it was measured to"
              value={now.to}
              none="choose"
              offers={[...features.keys()]}
              onPick={(to) => set({ to, along: undefined })}
            />
            {canBeAlong && (
              <SelectField
                name="Only along"
                hint="Along one axis of the datum frame, as with a height or depth gauge"
                value={now.along}
                none="the shortest way"
                offers={['x', 'y', 'z']}
                onPick={(along) => set({ along: along as ByHandForm['along'] })}
              />
            )}
          </>
        )}
        <label class="note-field" title="What the row is called on the job sheet">
          <span>Name</span>
          <input
            type="text"
            maxLength={LONGEST_TITLE}
            value={now.id}
            onInput={({ currentTarget }) => set({ id: currentTarget.value })}
          />
        </label>
        <label class="note-field" title="Told beside the row, on the page and in the report">
          <span>Note</span>
          <input
            type="text"
            maxLength={LONGEST_NOTE}
            value={now.note}
            placeholder="where it was measured"
            onInput={({ currentTarget }) => set({ note: currentTarget.value })}
          />
        </label>
        <p class="row">
          <button type="submit" class="control main" disabled={lacking !== undefined}>
            Add to the sheet
          </button>
          <span role="status">{lacking}</span>
        </p>
      </form>
    </SlipSheet>
  );
}

/** The form as it starts: for the rows selected, where they have a size or are two. */
function formFor({ session }: Desk, features: ReadonlyMap<string, Feature>): ByHandForm {
  const base = { id: session.freeId('by-hand'), instrument: 'caliper', note: '', use: 'alone' } as const;
  const selected = session.selected.peek().filter((id) => features.has(id));
  if (selected.length === 2) return { ...base, what: 'distance', from: selected[0], to: selected[1] };
  const [of] = selected;
  const isSized = of !== undefined && dimensionsOf(features.get(of)).length > 0;
  return { ...base, what: 'size', ...(isSized && ofRow(of, features)) };
}

const ofRow = (of: string | undefined, features: ReadonlyMap<string, Feature>): Partial<ByHandForm> => ({
  of,
  use: of === undefined ? 'alone' : 'beside',
  dimension: of === undefined ? undefined : dimensionsOf(features.get(of))[0],
});
