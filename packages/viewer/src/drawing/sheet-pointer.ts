import type { Signal } from '@preact/signals';
import type { Picking } from './picking.js';
import { fittedSheet, pannedSheet, type SheetRig, toSheet, zoomedSheet } from './sheet-rig.js';

/** Until a pointer has moved this far, pressing it is a click, pixels. */
const STILL = 4;

type Vec2 = readonly [number, number];

interface Drag {
  readonly begun: Vec2;
  at: Vec2;
  hasMoved: boolean;
  does: 'pan' | 'stretch' | 'box';
}

/**
 * What the pointer does on the sheet: a click picks, with shift another one; dragging along a curve picks the stretch, with shift a box;
 * dragging elsewhere, or with the middle button, shifts the sheet. Two fingers shift and zoom it.
 */
export function sheetPointer(rig: Signal<SheetRig>, picking: Picking) {
  let drag: Drag | undefined;
  const fingers = new Map<number, Vec2>();
  const where = (event: PointerEvent | WheelEvent): Vec2 => {
    const box = (event.currentTarget as Element).getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const onSheet = (at: Vec2): Vec2 => toSheet(rig.peek(), ...at);

  /** Two fingers: the sheet follows their middle, and grows with how far they are apart. */
  function pinch(id: number, to: Vec2): void {
    const other = [...fingers].find(([finger]) => finger !== id)![1];
    const from = fingers.get(id)!;
    fingers.set(id, to);
    const apart = (p: Vec2): number => Math.hypot(p[0] - other[0], p[1] - other[1]);
    const middle: Vec2 = [(to[0] + other[0]) / 2, (to[1] + other[1]) / 2];
    const panned = pannedSheet(rig.peek(), (to[0] - from[0]) / 2, (to[1] - from[1]) / 2);
    rig.value = zoomedSheet(panned, apart(to) / Math.max(1, apart(from)), ...middle);
  }

  function drive(drag: Drag, at: Vec2): void {
    if (!drag.hasMoved && Math.hypot(at[0] - drag.begun[0], at[1] - drag.begun[1]) < STILL) return;
    if (!drag.hasMoved && drag.does === 'stretch' && !picking.begun.peek() && !picking.begin(onSheet(drag.begun)))
      drag.does = 'pan';
    if (drag.does === 'pan') rig.value = pannedSheet(rig.peek(), at[0] - drag.at[0], at[1] - drag.at[1]);
    else if (drag.does === 'stretch') picking.reach(onSheet(at));
    else picking.box.value = [onSheet(drag.begun), onSheet(at)];
    drag.at = at;
    drag.hasMoved = true;
  }

  return {
    onPointerDown(event: PointerEvent): void {
      if ((event.target as Element).closest('aside')) return;
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
      const at = where(event);
      fingers.set(event.pointerId, at);
      if (fingers.size > 1) {
        drag = undefined;
        picking.begun.value = undefined;
        return;
      }
      if (!picking.begun.peek()) picking.hover(onSheet(at));
      const isOnCurve = event.button === 0 && (picking.hovered.peek() ?? picking.near.peek()) !== undefined;
      const does = event.button !== 0 ? 'pan' : event.shiftKey ? 'box' : isOnCurve ? 'stretch' : 'pan';
      drag = { begun: at, at, hasMoved: false, does };
    },
    onPointerMove(event: PointerEvent): void {
      const at = where(event);
      if (fingers.size > 1 && fingers.has(event.pointerId)) pinch(event.pointerId, at);
      else if (drag) drive(drag, at);
      else picking.hover(onSheet(at));
    },
    onPointerUp(event: PointerEvent): void {
      fingers.delete(event.pointerId);
      const done = drag;
      drag = undefined;
      if (!done) return;
      const at = onSheet(where(event));
      const { box } = picking;
      if (!done.hasMoved) {
        if (event.button === 0) void picking.click(at, event.shiftKey);
      } else if (done.does === 'stretch') void picking.finish(at);
      else if (done.does === 'box') {
        const drawn = box.peek();
        if (drawn) void picking.pickBox(drawn);
      }
      box.value = undefined;
    },
    onPointerCancel(event: PointerEvent): void {
      fingers.delete(event.pointerId);
      drag = undefined;
      picking.box.value = undefined;
      picking.begun.value = undefined;
    },
    onPointerLeave(): void {
      if (!drag) picking.leave();
    },
    onWheel(event: WheelEvent): void {
      if ((event.target as Element).closest('aside')) return;
      event.preventDefault();
      const factor = Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0015));
      rig.value = zoomedSheet(rig.peek(), factor, ...where(event));
    },
  };
}

/** What the keys of the sheet work on. */
export interface SheetUnderKeys {
  readonly rig: Signal<SheetRig>;
  readonly picking: Picking;
  /** All there is to show, xy xy … each. */
  readonly lines: readonly Float64Array[];
}

interface SheetKey {
  readonly key: string;
  readonly words: string;
  act(sheet: SheetUnderKeys): void;
}

/** How far a key shifts the sheet, pixels. */
const SHIFT = 40;
const walking = (key: string, by: number): SheetKey => ({
  key,
  words: 'Next piece of the section, or the one before, with the drawing under focus',
  act: ({ picking }) => picking.walk(by),
});
const shifting = (key: string, x: number, y: number): SheetKey => ({
  key: `shift+${key}`,
  words: 'Shift the drawing',
  act: ({ rig }) => {
    rig.value = pannedSheet(rig.peek(), SHIFT * x, SHIFT * y);
  },
});
const zooming = (key: string, words: string, factor: number): SheetKey => ({
  key,
  words,
  act: ({ rig }) => {
    rig.value = zoomedSheet(rig.peek(), factor);
  },
});
const picks = (key: string, words: string, isSecond: boolean): SheetKey => ({
  key,
  words,
  act: ({ picking }) => void picking.pickWalked(isSecond),
});

/** What keys do on the sheet under focus. */
export const sheetKeys: readonly SheetKey[] = [
  walking('ArrowRight', 1),
  walking('ArrowDown', 1),
  walking('ArrowLeft', -1),
  walking('ArrowUp', -1),
  picks('Space', 'Pick the piece of the section', false),
  picks('shift+Space', 'Pick another piece, to measure between the two', true),
  shifting('ArrowLeft', 1, 0),
  shifting('ArrowRight', -1, 0),
  shifting('ArrowUp', 0, 1),
  shifting('ArrowDown', 0, -1),
  zooming('+', 'Make the drawing larger', 1.25),
  zooming('-', 'Make the drawing smaller', 0.8),
  {
    key: 'f',
    words: 'Show all of the section',
    act: ({ rig, lines }) => {
      rig.value = fittedSheet(rig.peek(), lines);
    },
  },
];
