import type { JSX } from 'preact';

/** Signs drawn as lines, so that they look alike whatever letters the computer has. */
const paths = {
  undo: 'M6 3 2.5 6.5 6 10M3 6.5h6.5a4 4 0 0 1 0 8H6',
  redo: 'M10 3l3.5 3.5L10 10M13 6.5H6.5a4 4 0 0 0 0 8H10',
  close: 'M3.5 3.5l9 9M12.5 3.5l-9 9',
  tick: 'M2.5 8.5l4 4L13.5 4',
  up: 'M8 14V3M4 7l4-4 4 4',
  down: 'M8 2v11M4 9l4 4 4-4',
  both: 'M8 2v12M4.5 5.5 8 2l3.5 3.5M4.5 10.5 8 14l3.5-3.5',
} as const;

export type SignName = keyof typeof paths;

/** A sign for a button; the button has the name. */
export const Sign = ({ name }: { readonly name: SignName }): JSX.Element => (
  <svg class="drawn-sign" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
    <path d={paths[name]} />
  </svg>
);
