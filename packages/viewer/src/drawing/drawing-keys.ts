import type { KeyAct } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import { dropCut, keepCut, levelOf, moveCut } from './cutting.js';
import type { Picking } from './picking.js';
import { keepProfile, profilingOf, setProfiling } from './profiling.js';
import { sheetKeys } from './sheet-pointer.js';
import { changeShape, dropStretch, keepStretch, STRETCH_SHAPES, stretchingOf } from './stretching.js';

/** Keys of a section that is being moved; they hold before it is drawn for the first time. */
export function cutKeys(session: Session): readonly KeyAct[] {
  const isCutting = (): boolean => session.cutting.peek() !== undefined;
  const shift = (by: number): void => {
    const step = session.cutting.peek()?.step;
    if (step) moveCut(session, Math.round((levelOf(step) + by) * 100) / 100);
  };
  return [
    { key: 'PageUp', words: 'Move the section by 1 mm', when: isCutting, act: () => shift(1) },
    { key: 'PageDown', words: 'Move the section by 1 mm', when: isCutting, act: () => shift(-1) },
    { key: 'shift+PageUp', words: 'Move the section by 0.1 mm', when: isCutting, act: () => shift(0.1) },
    { key: 'shift+PageDown', words: 'Move the section by 0.1 mm', when: isCutting, act: () => shift(-0.1) },
    { key: 'Enter', words: 'Keep the section', when: isCutting, act: () => void keepCut(session) },
    { key: 'Escape', words: 'Let go of the section', when: isCutting, act: () => dropCut(session) },
  ];
}

/**
 * The keyboard on a section: walking its pieces, picking one, keeping what was fitted. Told of before there is a drawing.
 *
 * @param drawn what is picked on; undefined while no drawing is there
 */
export function drawingKeys(session: Session, drawn: () => Picking | undefined): readonly KeyAct[] {
  const stretching = stretchingOf(session);
  const isCutting = (): boolean => session.cutting.peek() !== undefined;
  const isFitting = (): boolean => stretching.peek() !== undefined;
  const hasStops = (): boolean => (drawn()?.stops.length ?? 0) > 0;
  const isWalking = (): boolean => drawn()?.walked.peek() !== undefined && session.hand.peek() === 'turn';
  const next = (): void => {
    const shape = stretching.peek()!.stretches.at(-1)!.shape;
    void changeShape(session, STRETCH_SHAPES[(STRETCH_SHAPES.indexOf(shape) + 1) % STRETCH_SHAPES.length]!);
  };
  return [
    {
      key: 'q',
      words: 'Show the profile of the section, or leave it out',
      when: () => !isCutting() && drawn() !== undefined,
      act: () => setProfiling(session, { isOn: !profilingOf(session).peek().isOn }),
    },
    {
      key: 'shift+q',
      words: 'Put the profile on the job sheet, or take it off',
      when: () => !isCutting() && session.section.peek() !== undefined,
      act: () => void keepProfile(session, session.section.peek()!),
    },
    { key: '.', words: 'Next piece of the section', when: hasStops, act: () => drawn()?.walk(1) },
    { key: ',', words: 'Piece of the section before', when: hasStops, act: () => drawn()?.walk(-1) },
    {
      key: 'Space',
      words: 'Pick the piece of the section',
      when: isWalking,
      act: () => void drawn()?.pickWalked(),
    },
    {
      key: 'shift+Space',
      words: 'Pick another piece, to measure between the two',
      when: () => isWalking() && isFitting(),
      act: () => void drawn()?.pickWalked(true),
    },
    { key: 'c', words: 'Fit another shape to the stretch', when: isFitting, act: next },
    { key: 'Enter', words: 'Keep the fit of the stretch', when: isFitting, act: () => void keepStretch(session) },
    { key: 'Escape', words: 'Let go of the stretch', when: isFitting, act: () => dropStretch(session) },
    {
      key: 'Escape',
      words: 'Let go of the end of a stretch',
      when: () => drawn()?.begun.peek() !== undefined,
      act: () => drawn()?.letGo(),
    },
    ...sheetKeys.map(({ key, words }) => ({ key, words })),
  ];
}
