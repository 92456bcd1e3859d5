import { signal } from '@preact/signals';

/** One key and what it does. */
export interface KeyAct {
  /** As the browser names it, with `ctrl+`, `shift+`, `alt+` in front in this order: `g`, `ctrl+z`, `shift+ArrowLeft`. */
  readonly key: string;
  /** What it does, in the words of the help page; the same act may have several keys. */
  readonly words: string;
  /** Only while this holds; the latest registered act that holds is taken. */
  when?(): boolean;
  act(): void;
}

const acts = signal<readonly KeyAct[]>([]);

/** All keys there are, the first registered first: the help page's table. */
export const keyActs = acts;

/** Adds keys; gives what takes them out again. */
export function registerKeys(more: readonly KeyAct[]): () => void {
  acts.value = [...acts.value, ...more];
  return () => {
    acts.value = acts.value.filter((act) => !more.includes(act));
  };
}

/** How the map names a pressed key. Ctrl and, on a Mac, command are one. */
export function nameOfKey(event: Pick<KeyboardEvent, 'key' | 'ctrlKey' | 'metaKey' | 'shiftKey' | 'altKey'>): string {
  const isLetter = /^[a-z]$/i.test(event.key);
  const isNamed = event.key.length > 1 || isLetter;
  const key = isLetter ? event.key.toLowerCase() : event.key === ' ' ? 'Space' : event.key;
  return [
    event.ctrlKey || event.metaKey ? 'ctrl+' : '',
    event.altKey ? 'alt+' : '',
    // A shifted sign is a sign of its own: `?`, `+`.
    event.shiftKey && (isNamed || event.key === ' ') ? 'shift+' : '',
    key,
  ].join('');
}

const isTyping = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement &&
  (target.isContentEditable || target.matches('input:not([type=checkbox]):not([type=range]), textarea, select'));

/** Keys a button under focus keeps for itself. */
const OF_BUTTONS = ['Enter', 'Space'];

/** Listens for keys on the whole page, but not while somebody types, nor in a dialog. */
export function listenForKeys(): () => void {
  const listen = (event: KeyboardEvent): void => {
    if (event.defaultPrevented || isTyping(event.target)) return;
    const name = nameOfKey(event);
    const on = event.target instanceof Element ? event.target : undefined;
    if (on?.closest('dialog')) return;
    if (OF_BUTTONS.includes(name) && on?.closest('button, a, [role=button], summary')) return;
    const act = acts.value.findLast(({ key, when }) => key === name && (when?.() ?? true));
    if (!act) return;
    event.preventDefault();
    act.act();
  };
  window.addEventListener('keydown', listen);
  return () => window.removeEventListener('keydown', listen);
}

/** A key as a person reads it: `Ctrl + Z`. */
export const keyInWords = (key: string): string => {
  const names: Readonly<Record<string, string>> = {
    ArrowLeft: '←',
    ArrowRight: '→',
    ArrowUp: '↑',
    ArrowDown: '↓',
    Escape: 'Esc',
    ' ': 'Space',
  };
  const [main, ...before] = key.split(/\+(?=.)/).reverse();
  return [...before.reverse(), main ?? '']
    .map((part) => names[part] ?? (part.length === 1 ? part.toUpperCase() : part[0]?.toUpperCase() + part.slice(1)))
    .join(' + ');
};

/** For `aria-keyshortcuts`. */
export const ariaKey = (key: string): string =>
  key.replace('ctrl+', 'Control+').replace('alt+', 'Alt+').replace('shift+', 'Shift+');
