import type { JSX } from 'preact';
import type { TableQuestions } from './asked-fields.js';
import { NumberField } from './number-field.js';

interface TableQuestionsProps {
  readonly asked: TableQuestions;
  onAsk(change: { readonly [Q in keyof TableQuestions]: TableQuestions[Q] | undefined }): void;
}

const CLASS_HINT = 'A tolerance class, or hole and shaft of a fit: whether what was measured is within it';

/** The screw a hole is for, limits and fits: what the job sheet is to say of a size. */
export function TableQuestionFields({ asked, onAsk }: TableQuestionsProps): JSX.Element {
  return (
    <fieldset class="table-questions">
      <legend>Ask the tables</legend>
      <label class="tick" title="The nearest clearance hole of the table, and by how much this one is off it">
        <input
          type="checkbox"
          checked={asked.screw ?? false}
          onChange={({ currentTarget }) => onAsk({ screw: currentTarget.checked || undefined })}
        />
        Which screw the hole is for (ISO 273)
      </label>
      <label class="number-field" title={CLASS_HINT}>
        <span>Class or fit (ISO 286)</span>
        <input
          type="text"
          title={CLASS_HINT}
          autocomplete="off"
          value={asked.fit ?? ''}
          placeholder="H7 or H7/g6"
          onInput={({ currentTarget }) => onAsk({ fit: currentTarget.value || undefined })}
        />
      </label>
      {asked.fit !== undefined && (
        <NumberField
          name="Nominal size"
          hint="The size the class is of, as on a drawing. Empty: the whole millimeter nearest to what was measured"
          unit="mm"
          placeholder="nearest"
          value={asked.nominal}
          onNumber={(nominal) => onAsk({ nominal })}
        />
      )}
    </fieldset>
  );
}
