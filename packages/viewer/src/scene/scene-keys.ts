import type { Signal } from '@preact/signals';
import { SHAPES } from '../choosing/drafting.js';
import { type KeyAct, registerKeys } from '../keys/keys.js';
import { chooseTrail, growAt, type PointerSurroundings, type Trail } from './pointer.js';

/** Degrees a press of an arrow key turns, as pixels of a drag; and pixels it shifts or moves the cross. */
const TURN = 24;
const SHIFT = 32;
const STEP = 12;

/**
 * The keyboard on the scene. With a choosing hand the arrow keys move a cross, and space does what a click does there:
 * it grows, or adds a corner or a place to the trail, which Enter closes.
 */
export function sceneKeys(
  around: PointerSurroundings,
  cross: Signal<readonly [number, number] | undefined>,
  trail: Signal<Trail | undefined>,
): () => void {
  const { session, view, drafting } = around;
  const hasScan = (): boolean => session.scan.peek() !== undefined;
  const isChoosing = (): boolean => hasScan() && session.hand.peek() !== 'turn';
  const isDrawing = (): boolean => isChoosing() && trail.peek() !== undefined;
  const hasDraft = (): boolean => session.draft.peek() !== undefined;
  /** Or will be once a gesture is looked up: the key that follows at once is meant for it. */
  const isDrafting = (): boolean => hasDraft() || drafting.awaited.peek() > 0;
  const at = (): readonly [number, number] => {
    const { width, height } = view.rig.peek();
    return cross.peek() ?? [width / 2, height / 2];
  };
  const moveCross = (dx: number, dy: number): void => {
    const { width, height } = view.rig.peek();
    const [x, y] = at();
    cross.value = [Math.min(width - 1, Math.max(0, x + dx)), Math.min(height - 1, Math.max(0, y + dy))];
  };
  const choose = (keys: { shiftKey: boolean; altKey: boolean }): void => {
    const hand = session.hand.peek();
    cross.value = at();
    if (hand === 'grow') growAt(around, ...at(), keys);
    else if (hand !== 'turn') trail.value = { kind: hand, points: [...(trail.peek()?.points ?? []), at()] };
  };
  const close = (): void => {
    const drawn = trail.peek();
    trail.value = undefined;
    if (drawn) chooseTrail(around, drawn, { shiftKey: hasDraft(), altKey: false });
  };
  const arrows = [
    ['ArrowLeft', -1, 0],
    ['ArrowRight', 1, 0],
    ['ArrowUp', 0, -1],
    ['ArrowDown', 0, 1],
  ] as const;
  const acts: KeyAct[] = [
    ...arrows.flatMap(([key, x, y]): KeyAct[] => [
      { key, words: 'Turn the scan', when: hasScan, act: () => view.orbit(undefined, TURN * x, TURN * y) },
      { key, words: 'Move the cross of a choosing hand', when: isChoosing, act: () => moveCross(STEP * x, STEP * y) },
      {
        key: `ctrl+${key}`,
        words: 'Move the cross by a pixel',
        when: isChoosing,
        act: () => moveCross(x, y),
      },
      {
        key: `shift+${key}`,
        words: 'Shift the scan',
        when: hasScan,
        act: () => view.pan(-SHIFT * x, -SHIFT * y),
      },
      {
        key: `alt+${key}`,
        words: 'Turn the scan, whatever the hand',
        when: () => isChoosing() && session.selected.peek().length === 0,
        act: () => view.orbit(undefined, TURN * x, TURN * y),
      },
    ]),
    { key: '+', words: 'Zoom in', when: hasScan, act: () => view.zoom(1.25) },
    { key: '-', words: 'Zoom out', when: hasScan, act: () => view.zoom(0.8) },
    { key: 'f', words: 'Show all of the scan', when: hasScan, act: () => view.showAll() },
    {
      key: 'Space',
      words: 'Choose at the cross',
      when: isChoosing,
      act: () => choose({ shiftKey: false, altKey: false }),
    },
    {
      key: 'shift+Space',
      words: 'Add what is at the cross',
      when: isChoosing,
      act: () => choose({ shiftKey: true, altKey: false }),
    },
    {
      key: 'alt+Space',
      words: 'Take away what is at the cross',
      when: isChoosing,
      act: () => choose({ shiftKey: false, altKey: true }),
    },
    ...SHAPES.map(
      (shape, k): KeyAct => ({
        key: String(k + 1),
        words: `Fit a ${shape}`,
        when: hasDraft,
        act: () => {
          drafting.shape.value = shape;
        },
      }),
    ),
    { key: 'Enter', words: 'Keep what was chosen', when: isDrafting, act: () => void drafting.keep() },
    { key: 'Escape', words: 'Let go of what was chosen', when: isDrafting, act: drafting.drop },
    { key: 'Backspace', words: 'Take back the last patch', when: hasDraft, act: drafting.back },
    { key: 'Enter', words: 'Close the outline', when: isDrawing, act: close },
    {
      key: 'Escape',
      words: 'Let go of the outline',
      when: isDrawing,
      act: () => {
        trail.value = undefined;
      },
    },
  ];
  return registerKeys('scene', acts);
}
