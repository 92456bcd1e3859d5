import type { ComponentChildren, JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { Control } from './control.js';
import type { Desk } from './desk.js';

export interface SlipSheetProps {
  readonly desk: Desk;
  readonly title: string;
  /** Where the keyboard goes when it is laid out: the first match. Absent: the first control. */
  readonly focus?: string;
  readonly children: ComponentChildren;
}

/** A slip of paper at the foot of the job sheet. Escape takes it away. */
export function SlipSheet({ desk, title, focus, children }: SlipSheetProps): JSX.Element {
  const slip = useRef<HTMLElement>(null);
  // At once, not after the next picture: somebody who types fast is in the second field by then.
  useLayoutEffect(() => {
    const before = document.activeElement;
    const first = slip.current?.querySelector<HTMLElement>(focus ?? '.slip-body :is(button, input, select)');
    (first ?? slip.current)?.focus({ preventScroll: true });
    return () => {
      if (document.activeElement === document.body && before instanceof HTMLElement && before.isConnected)
        before.focus();
    };
  }, [focus]);
  const close = (): void => {
    desk.slip.value = undefined;
  };
  return (
    <section
      ref={slip}
      class="slip"
      aria-label={title}
      tabIndex={-1}
      onKeyDown={(event) => {
        if (event.key !== 'Escape') return;
        event.preventDefault();
        event.stopPropagation();
        close();
      }}
    >
      <header>
        <h2>{title}</h2>
        <Control name={`Put ${title} away`} sign="close" kind="quiet" keys={['Escape']} onAct={close} />
      </header>
      <div class="slip-body">{children}</div>
    </section>
  );
}
