import { type Signal, signal } from '@preact/signals';
import type { Session } from '../session/session.js';

/** A slip of paper laid over the foot of the job sheet: one thing being done. */
export type Slip =
  | { readonly kind: 'relate' }
  | { readonly kind: 'frame' /** Id of the frame being changed. */; readonly changes?: string }
  | { readonly kind: 'by-hand' }
  | { readonly kind: 'hand-over' }
  | { readonly kind: 'fit'; readonly id: string }
  | { readonly kind: 'remove'; readonly ids: readonly string[] };

/** What the paper has open; none of it is part of the job. */
export interface Desk {
  readonly session: Session;
  readonly slip: Signal<Slip | undefined>;
  readonly isHelpOpen: Signal<boolean>;
  /** Id of the row whose name is being typed. */
  readonly naming: Signal<string | undefined>;
  /** Whether steps without a row are shown between the rows. */
  readonly showsAll: Signal<boolean>;
  /** The row the keyboard is on. */
  readonly at: Signal<string | undefined>;
  /** Asks for files as the browser does. */
  readonly chooser: { open(): void };
}

export const createDesk = (session: Session): Desk => ({
  session,
  slip: signal(undefined),
  isHelpOpen: signal(false),
  naming: signal(undefined),
  showsAll: signal(false),
  at: signal(undefined),
  chooser: { open: () => {} },
});
