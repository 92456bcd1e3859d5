import type { ComponentChildren, JSX } from 'preact';
import { useLayoutEffect, useRef } from 'preact/hooks';
import { isTyping, nameOfKey } from '../keys/keys.js';
import { Control } from './control.js';
import type { Desk } from './desk.js';

export interface SlipSheetProps {
  readonly desk: Desk;
  readonly title: string;
  /** Where the keyboard goes when it is laid out: the first match. Absent: the first control. */
  readonly focus?: string;
  /** Keys of its own, by what they do; not while somebody types or picks. */
  readonly keys?: Readonly<Record<string, () => void>>;
  readonly children: ComponentChildren;
}

/** A slip of paper at the foot of the job sheet. Escape takes it away. */
export function SlipSheet({ desk, title, focus, keys = {}, children }: SlipSheetProps): JSX.Element {
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
        const does = event.key === 'Escape' ? close : isTyping(event.target) ? undefined : keys[nameOfKey(event)];
        if (!does) return;
        event.preventDefault();
        event.stopPropagation();
        does();
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
