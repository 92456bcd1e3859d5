import type { Signal } from '@preact/signals';
import type { Drafting } from '../choosing/drafting.js';
import { type KeyAct, registerKeys } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import type { SceneView } from './scene-view.js';

/** What a hand is set to, beside what the session holds. */
export interface HandSet {
  readonly session: Session;
  readonly drafting: Drafting;
  readonly view: SceneView;
  /** Radius of the brush, pixels. */
  readonly brush: Signal<number>;
  /** Boxes and outlines choose all the way through. */
  readonly through: Signal<boolean>;
}

/** Ends of what can be set, and by how much a key or a step of the wheel changes it. */
export const TURNS = [0.5, 30] as const;
export const SPREADS = [0.5, 90] as const;
export const BRUSHES = [4, 60] as const;
const FASTER = 1.15;

const within = (value: number, [least, most]: readonly [number, number]): number =>
  Math.round(Math.min(most, Math.max(least, value)) * 10) / 10;

/** Lets growing go over more of a curve, or less. */
export function widenGrowing(session: Session, isWider: boolean): void {
  const by = isWider ? FASTER : 1 / FASTER;
  const { turn, spread } = session.grow.peek();
  session.grow.value = { turn: within(turn * by, TURNS), spread: within(spread * by, SPREADS) };
}

/** Keys for what a hand can be set to, and for how the scan is shown. @returns what takes them out again */
export function settingKeys({ session, drafting, view, brush, through }: HandSet): () => void {
  const isChoosing = (): boolean => session.scan.peek() !== undefined && session.hand.peek() !== 'turn';
  const isDrafting = (): boolean => session.draft.peek() !== undefined;
  const isEnclosing = (): boolean => isChoosing() && session.hand.peek() !== 'grow';
  const isCut = (): boolean => session.cutting.peek() !== undefined || session.section.peek() !== undefined;
  const widen = (isWider: boolean): void => {
    if (session.hand.peek() === 'grow') widenGrowing(session, isWider);
    else brush.value = within(brush.peek() * (isWider ? FASTER : 1 / FASTER), BRUSHES);
  };
  const turnOver = (one: Signal<boolean>): void => {
    one.value = !one.peek();
  };
  const acts: KeyAct[] = [
    { key: ']', words: 'Grow over more, or take a larger brush', when: isChoosing, act: () => widen(true) },
    { key: '[', words: 'Grow over less, or take a smaller brush', when: isChoosing, act: () => widen(false) },
    { key: 't', words: 'Choose all the way through, or not', when: isEnclosing, act: () => turnOver(through) },
    {
      key: 'y',
      words: 'Leave strays out, or take them in',
      when: isDrafting,
      act: () => turnOver(drafting.rejects),
    },
    {
      key: 'k',
      words: 'Type what is known of the fit',
      when: isDrafting,
      act: () => document.querySelector<HTMLElement>('.draft-card .known :is(select, input)')?.focus(),
    },
    {
      key: 'shift+Enter',
      words: 'Keep the points alone, without a fit',
      when: isDrafting,
      act: () => void drafting.keepRegion(),
    },
    {
      key: 'a',
      words: 'Cut away what is before the section, or not',
      when: isCut,
      act: () => turnOver(view.isClipping),
    },
    {
      key: 'c',
      words: 'Show the colors of the scan, or not',
      when: () => view.isPaintable.peek(),
      act: () => turnOver(view.painted),
    },
  ];
  return registerKeys('scene', acts);
}
