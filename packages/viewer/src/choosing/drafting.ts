import type { FitStep, Vec3 } from '@fettle/geom';
import { effect, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import type { Draft, Session } from '../session/session.js';
import { refusalOf } from '../worker/refusal.js';
import { draftSteps, type Gesture } from './draft-steps.js';

/** What can be fitted to a region, in the order of its keys. */
export const SHAPES = ['plane', 'cylinder', 'circle', 'sphere', 'cone', 'line'] as const;
export type DraftShape = (typeof SHAPES)[number];

/** Rejection of the fits made by pointing, sigmas: common practice, no source. */
const REJECT = 3.5;

/**
 * What is known of a fit before: a diameter in mm or the id of a size by hand; the direction as the id of a feature, or
 * in the axes of the frame in use.
 */
export interface DraftKnown {
  readonly diameter?: number | string | undefined;
  readonly direction?: string | Vec3 | undefined;
  /** Of a cone, degrees between axis and surface. */
  readonly halfAngle?: number | undefined;
}

/** Shapes whose diameter, or whose direction, can be given. */
export const isRound = (shape: string | undefined): boolean =>
  shape === 'circle' || shape === 'sphere' || shape === 'cylinder';
export const isConical = (shape: string | undefined): boolean => shape === 'cone';
export const isDirected = (shape: string | undefined): boolean => shape !== undefined && shape !== 'sphere';

/** Whether the next gesture begins anew, is added or is taken away, where no key says it. */
export type Joining = 'new' | 'add' | 'take';

/** Choosing points, from the first gesture to the fit kept in the plan. */
export interface Drafting {
  readonly gestures: Signal<readonly Gesture[]>;
  /** The shape a person chose; undefined: the one suggested. */
  readonly shape: Signal<DraftShape | undefined>;
  readonly rejects: Signal<boolean>;
  readonly known: Signal<DraftKnown>;
  readonly joining: Signal<Joining>;
  /** Something is being worked out. */
  readonly isBusy: Signal<boolean>;
  /** How many gestures were made that are still looked up on the scan. */
  readonly awaited: ReadonlySignal<number>;
  add(gesture: Gesture): void;
  /** Takes the last gesture back. */
  back(): void;
  drop(): void;
  /** Puts region and fit into the plan. */
  keep(): Promise<boolean>;
  /**
   * Does what a gesture asks in its turn: gestures come one after the other, however long each is looked up, and after what was on its way
   * into the plan when it was made. One that was made before all was dropped is dropped too.
   */
  inTurn(act: () => Promise<void>): Promise<void>;
  /** Puts the region alone into the plan. */
  keepRegion(): Promise<boolean>;
}

const draftings = new WeakMap<Session, Drafting>();

/** The one drafting of a session. */
export function draftingOf(session: Session): Drafting {
  const before = draftings.get(session);
  if (before) return before;
  const drafting = createDrafting(session);
  draftings.set(session, drafting);
  return drafting;
}

/** What is known, in the plan's words, as far as a shape can have it. */
function knownOf(
  session: Session,
  shape: DraftShape,
  { diameter, direction, halfAngle }: DraftKnown,
): Partial<FitStep> {
  const size = isRound(shape) ? diameter : undefined;
  const way = isDirected(shape) ? direction : undefined;
  const angle = isConical(shape) ? halfAngle : undefined;
  if (size === undefined && way === undefined && angle === undefined) return {};
  const frame = session.run.peek().steps.findLast(({ matrix }) => matrix !== undefined)?.id;
  const isTyped = typeof way === 'object';
  return {
    known: {
      ...(size !== undefined && { diameter: size }),
      ...(angle !== undefined && { halfAngle: angle }),
      ...(way !== undefined && { direction: isTyped ? [...way] : way }),
    },
    ...(isTyped && frame !== undefined && { in: frame }),
  };
}

function createDrafting(session: Session): Drafting {
  const gestures = signal<readonly Gesture[]>([]);
  const shape = signal<DraftShape | undefined>(undefined);
  const rejects = signal(true);
  const known = signal<DraftKnown>({});
  const joining = signal<Joining>('new');
  const isBusy = signal(false);
  const awaited = signal(0);
  let turn = 0;
  /** How often all was dropped. */
  let drops = 0;

  const update = (change: Partial<Draft>): void => {
    const draft = session.draft.peek();
    if (draft) session.draft.value = { ...draft, ...change };
  };

  /** Works out what the gestures choose, what that is, and the fit, giving up where a later change has come. */
  async function work(isNewChoice: boolean): Promise<void> {
    const mine = ++turn;
    const isMine = (): boolean => mine === turn;
    isBusy.value = true;
    try {
      if (isNewChoice) {
        const steps = draftSteps(gestures.peek(), session.freeId);
        if (steps.length === 0) {
          session.draft.value = undefined;
          return;
        }
        const { choice } = session.draft.peek() ?? {};
        session.draft.value = { steps, ...(choice && { choice }) };
        const chosen = await session.measurer.choose(steps);
        if (!isMine() || chosen.moot) return;
        update({ choice: chosen });
        const suggested = await session.measurer.suggest(steps);
        if (!isMine()) return;
        update({ suggested });
      }
      const fitted = fitStep();
      if (!fitted) return;
      update({ fit: { step: fitted } });
      const { steps } = session.draft.peek() as Draft;
      const view = await session.measurer.tryStep(session.plan.peek(), [...steps, fitted], 'draft');
      if (!isMine() || view.moot) return;
      const draft = session.draft.peek() as Draft;
      const { refusal: _, ...rest } = draft;
      session.draft.value = { ...rest, fit: { step: fitted, view }, ...(view.refusal && { refusal: view.refusal }) };
    } catch (error) {
      if (isMine()) update({ refusal: refusalOf(error) });
    } finally {
      if (isMine()) isBusy.value = false;
    }
  }

  function fitStep(): FitStep | undefined {
    const draft = session.draft.peek();
    const to = draft?.steps.at(-1)?.id;
    const chosen = shape.peek() ?? draft?.suggested?.suggestion.kind;
    if (!draft || to === undefined || chosen === undefined) return undefined;
    const besides = draft.steps.map(({ id }) => id);
    const given = knownOf(session, chosen, known.peek());
    return {
      step: 'fit',
      id: session.freeId(chosen, besides),
      shape: chosen,
      to,
      ...(rejects.peek() && { reject: REJECT }),
      ...given,
    };
  }

  effect(() => {
    gestures.value;
    void work(true);
  });
  let settings = '';
  effect(() => {
    const now = JSON.stringify([shape.value, rejects.value, known.value]);
    if (settings && now !== settings && session.draft.peek()?.choice) void work(false);
    settings = now;
  });
  // A scan closed or another opened: what was chosen is of the one before.
  effect(() => {
    session.scan.value;
    drop();
  });

  function drop(): void {
    drops++;
    clear();
  }

  function clear(): void {
    turn++;
    isBusy.value = false;
    shape.value = undefined;
    known.value = {};
    joining.value = 'new';
    gestures.value = [];
    session.draft.value = undefined;
  }

  /** Once nothing is worked out any more: a quick hand keeps what is not fitted yet. */
  async function settled(): Promise<void> {
    let stop = (): void => {};
    await new Promise<void>((resolve) => {
      stop = effect(() => {
        if (!isBusy.value) resolve();
      });
    });
    stop();
  }

  /** Gestures that were made, one after the other. */
  let gesturing: Promise<void> = Promise.resolve();
  function inTurn(act: () => Promise<void>): Promise<void> {
    const [before, after, dropped] = [gesturing, keeping, drops];
    awaited.value++;
    const mine = (async () => {
      try {
        await before.catch(() => undefined);
        await after;
        if (dropped === drops) await act();
      } finally {
        awaited.value--;
      }
    })();
    gesturing = mine;
    return mine;
  }

  /** While something is kept, a second press of the key keeps nothing more, unless it is for a gesture made since. */
  let keeping: Promise<boolean> | undefined;
  let lastKept: Promise<void> | undefined;
  function keepOnce(withFit: boolean): Promise<boolean> {
    if (keeping && lastKept === gesturing) return keeping;
    lastKept = gesturing;
    const mine = keepSteps(withFit).finally(() => {
      if (keeping === mine) keeping = undefined;
    });
    keeping = mine;
    return mine;
  }

  async function keepSteps(withFit: boolean): Promise<boolean> {
    await gesturing.catch(() => undefined);
    await settled();
    const draft = session.draft.peek();
    if (!draft || (withFit && (!draft.fit || draft.refusal))) return false;
    const steps = withFit && draft.fit ? [...draft.steps, draft.fit.step] : draft.steps;
    const kept = await session.append(steps);
    if (kept) {
      clear();
      session.selected.value = [steps.at(-1)!.id];
    }
    return kept;
  }

  return {
    gestures,
    shape,
    rejects,
    known,
    joining,
    isBusy,
    awaited,
    add: (gesture) => {
      gestures.value = [...gestures.peek(), gesture];
    },
    back: () => {
      gestures.value = gestures.peek().slice(0, -1);
    },
    drop,
    keep: () => keepOnce(true),
    inTurn,
    keepRegion: () => keepOnce(false),
  };
}
