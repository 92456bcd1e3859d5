import type { JSX } from 'preact';
import { ariaKey, keyInWords } from '../keys/keys.js';
import { Sign, type SignName } from './signs.js';

export interface ControlProps {
  readonly name: string;
  /** What it does, in a few words; shown as its tooltip with the key. */
  readonly hint?: string;
  readonly keys?: readonly string[];
  readonly pressed?: boolean;
  readonly disabled?: boolean;
  readonly kind?: 'plain' | 'main' | 'quiet';
  /** Shown in place of the name, which is then only read out. */
  readonly sign?: SignName | '?';
  onAct(): void;
}

/** A button with its name, its tooltip and its key. */
export function Control(props: ControlProps): JSX.Element {
  const { name, hint, keys = [], pressed, disabled, kind = 'plain', sign } = props;
  const shown = keys.map(keyInWords).join(' or ');
  const title = `${hint ?? name}${shown && ` (${shown})`}`;
  return (
    <button
      type="button"
      class={`control ${kind}${sign === undefined ? '' : ' sign'}`}
      title={title}
      aria-label={sign === undefined ? undefined : name}
      aria-keyshortcuts={keys.length > 0 ? keys.map(ariaKey).join(' ') : undefined}
      aria-pressed={pressed}
      disabled={disabled}
      onClick={props.onAct}
    >
      {sign === undefined ? name : sign === '?' ? sign : <Sign name={sign} />}
    </button>
  );
}
