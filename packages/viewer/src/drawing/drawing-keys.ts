import type { Signal } from '@preact/signals';
import { registerKeys } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import { dropCut, keepCut, levelOf, moveCut } from './cutting.js';
import { fitStretch, keepStretch, STRETCH_SHAPES, stretchingOf } from './stretching.js';

export interface DrawingKeys {
  readonly session: Session;
  /** Of the section's curves. */
  readonly count: number;
  /** The curve the keyboard is at. */
  readonly walked: Signal<number | undefined>;
  pick(curve: number): void;
}

/** The keyboard on a section: moving it, walking its curves, picking one, keeping what was fitted. */
export function drawingKeys({ session, count, walked, pick }: DrawingKeys): () => void {
  const stretching = stretchingOf(session);
  const isCutting = (): boolean => session.cutting.peek() !== undefined;
  const isFitting = (): boolean => stretching.peek() !== undefined;
  const walk = (by: number): void => {
    if (count > 0) walked.value = ((walked.peek() ?? (by > 0 ? -1 : 0)) + by + count) % count;
  };
  const shift = (by: number): void => {
    const step = session.cutting.peek()?.step;
    if (step) moveCut(session, Math.round((levelOf(step) + by) * 100) / 100);
  };
  const next = (): void => {
    const now = stretching.peek();
    if (!now) return;
    const shape = STRETCH_SHAPES[(STRETCH_SHAPES.indexOf(now.shape) + 1) % STRETCH_SHAPES.length]!;
    void fitStretch(session, now.section, now.picked, shape);
  };
  return registerKeys([
    { key: '.', words: 'Next curve of the section', when: () => count > 0, act: () => walk(1) },
    { key: ',', words: 'Curve of the section before', when: () => count > 0, act: () => walk(-1) },
    {
      key: 'Space',
      words: 'Pick the curve of the section',
      when: () => walked.peek() !== undefined && session.hand.peek() === 'turn',
      act: () => pick(walked.peek()!),
    },
    { key: 'PageUp', words: 'Move the section by 1 mm', when: isCutting, act: () => shift(1) },
    { key: 'PageDown', words: 'Move the section by 1 mm', when: isCutting, act: () => shift(-1) },
    { key: 'shift+PageUp', words: 'Move the section by 0.1 mm', when: isCutting, act: () => shift(0.1) },
    { key: 'shift+PageDown', words: 'Move the section by 0.1 mm', when: isCutting, act: () => shift(-0.1) },
    { key: 'Enter', words: 'Keep the section', when: isCutting, act: () => void keepCut(session) },
    { key: 'Escape', words: 'Let go of the section', when: isCutting, act: () => dropCut(session) },
    { key: 'c', words: 'Fit another shape to the stretch', when: isFitting, act: next },
    { key: 'Enter', words: 'Keep the fit of the stretch', when: isFitting, act: () => void keepStretch(session) },
    {
      key: 'Escape',
      words: 'Let go of the stretch',
      when: isFitting,
      act: () => {
        stretching.value = undefined;
      },
    },
  ]);
}
