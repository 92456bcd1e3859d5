import { LONGEST_TITLE, type Step } from '@fettle/geom';
import type { JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import type { Desk } from './desk.js';
import { idFrom } from './row-id.js';

/** The id of a row; a double click, or F2, makes it a field to type another in. */
export function NameOf({ desk, step }: { readonly desk: Desk; readonly step: Step }): JSX.Element {
  const { naming, session } = desk;
  const field = useRef<HTMLInputElement>(null);
  const isNaming = naming.value === step.id;
  useLayoutEffect(() => {
    if (isNaming) field.current?.select();
  }, [isNaming]);
  if (!isNaming)
    return (
      // biome-ignore lint/a11y/noStaticElementInteractions: F2 does the same by key
      <span
        class="id"
        title="Double click, or F2: another name"
        onDblClick={() => {
          naming.value = step.id;
        }}
      >
        {step.id}
      </span>
    );
  const end = (): void => {
    naming.value = undefined;
    const row = field.current?.closest('tr');
    setTimeout(() => row?.focus());
  };
  const take = (typed: string): void => {
    const id = idFrom(typed);
    end();
    if (id && id !== step.id) void session.edit(step.id, (now) => ({ ...now, id }));
  };
  return (
    <input
      ref={field}
      class="id"
      aria-label={`Name of ${step.id}`}
      defaultValue={step.id}
      maxLength={LONGEST_TITLE}
      onClick={(event) => event.stopPropagation()}
      onKeyDown={(event) => {
        event.stopPropagation();
        if (event.key === 'Enter') take(event.currentTarget.value);
        if (event.key === 'Escape') end();
      }}
      onBlur={(event) => {
        if (naming.value === step.id) take(event.currentTarget.value);
      }}
    />
  );
}
