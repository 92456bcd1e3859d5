import { signal } from '@preact/signals';

/** Where on the page a key does what it does. */
export type KeyPlace = 'page' | 'sheet' | 'slip' | 'scene' | 'drawing';

/** One key and what it does. */
export interface KeyAct {
  /** As the browser names it, with `ctrl+`, `shift+`, `alt+` in front in this order: `g`, `ctrl+z`, `shift+ArrowLeft`. */
  readonly key: string;
  /** What it does, in the words of the help page; the same act may have several keys. */
  readonly words: string;
  /** Only while this holds; of several that hold, the latest registered of the last place is taken. */
  when?(): boolean;
  /** Absent where the part of the page under focus listens itself: then the key is only told of here. */
  act?(): void;
}

/** A key, and where it does what it does. */
export interface PlacedKey extends KeyAct {
  readonly place: KeyPlace;
}

const acts = signal<readonly PlacedKey[]>([]);

/** All keys there are, the first registered first: the help page's table. */
export const keyActs = acts;

/** Of two places that have a key, the later one's is taken. */
const PLACES: readonly KeyPlace[] = ['page', 'sheet', 'slip', 'scene', 'drawing'];

/** Adds keys; gives what takes them out again. */
export function registerKeys(place: KeyPlace, more: readonly KeyAct[]): () => void {
  const placed = more.map((act): PlacedKey => ({ ...act, place }));
  acts.value = PLACES.flatMap((one) => [...acts.value, ...placed].filter((act) => act.place === one));
  return () => {
    acts.value = acts.value.filter((act) => !placed.includes(act));
  };
}

type PressedKey = Pick<KeyboardEvent, 'key' | 'ctrlKey' | 'metaKey' | 'shiftKey' | 'altKey'> &
  Partial<Pick<KeyboardEvent, 'getModifierState'>>;

/** How the map names a pressed key. Ctrl and, on a Mac, command are one. */
export function nameOfKey(event: PressedKey): string {
  const isLetter = /^[a-z]$/i.test(event.key);
  const isNamed = event.key.length > 1 || isLetter;
  // On many keyboards brackets are typed with AltGr, which some systems tell as Ctrl and Alt.
  if (!isNamed && event.getModifierState?.('AltGraph')) return event.key;
  const key = isLetter ? event.key.toLowerCase() : event.key === ' ' ? 'Space' : event.key;
  return [
    event.ctrlKey || event.metaKey ? 'ctrl+' : '',
    event.altKey ? 'alt+' : '',
    // A shifted sign is a sign of its own: `?`, `+`.
    event.shiftKey && (isNamed || event.key === ' ') ? 'shift+' : '',
    key,
  ].join('');
}

/** Whether keys pressed there are typed, or pick. */
export const isTyping = (target: EventTarget | null): boolean =>
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
    if (on?.closest('dialog[open]')) return;
    if (OF_BUTTONS.includes(name) && on?.closest('button, a, [role=button], summary')) return;
    const does = acts.value.findLast(({ key, when, act }) => act && key === name && (when?.() ?? true))?.act;
    if (!does) return;
    event.preventDefault();
    does();
  };
  window.addEventListener('keydown', listen);
  return () => window.removeEventListener('keydown', listen);
}

/** Stands for the four arrow keys together. */
const ARROWS = 'Arrows';
const ARROW = /Arrow(?:Left|Right|Up|Down)$/;

/** Keys of one act, the four arrows as one. */
export function withArrowsAsOne(keys: readonly string[]): readonly string[] {
  const arrows = keys.filter((key) => ARROW.test(key));
  const before = new Set(arrows.map((key) => key.replace(ARROW, '')));
  const whole = [...before].filter((start) => arrows.filter((key) => key.replace(ARROW, '') === start).length === 4);
  const isWhole = (key: string): boolean => ARROW.test(key) && whole.includes(key.replace(ARROW, ''));
  return [...whole.map((start) => start + ARROWS), ...keys.filter((key) => !isWhole(key))];
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
    [ARROWS]: '← → ↑ ↓',
  };
  const [main, ...before] = key.split(/\+(?=.)/).reverse();
  return [...before.reverse(), main ?? '']
    .map((part) => names[part] ?? (part.length === 1 ? part.toUpperCase() : part[0]?.toUpperCase() + part.slice(1)))
    .join(' + ');
};

/** For `aria-keyshortcuts`. */
export const ariaKey = (key: string): string =>
  key.replace('ctrl+', 'Control+').replace('alt+', 'Alt+').replace('shift+', 'Shift+');
