import { batch } from '@preact/signals';
import type { KeyAct } from '../keys/keys.js';
import type { Desk } from './desk.js';
import { changeSlip, moveRow, removeRows } from './row-acts.js';
import { hands, toggleSlip } from './strip.js';

/** The keys of the strip. */
export function paperKeys(desk: Desk): readonly KeyAct[] {
  const { session, slip } = desk;
  const hasScan = (): boolean => session.scan.value !== undefined;
  const slipKey = (key: string, words: string, kind: Parameters<typeof toggleSlip>[1]): KeyAct => ({
    key,
    words,
    when: hasScan,
    act: () => toggleSlip(desk, kind),
  });
  return [
    { key: 'o', words: 'Open a scan or a plan', act: () => desk.chooser.open() },
    {
      key: 'p',
      words: 'Open the demo pump, on an empty page',
      when: () => !hasScan() && session.opening.value === undefined,
      act: () => void session.openPump(),
    },
    ...hands.map(
      ({ key, hint, hand }): KeyAct => ({
        key,
        words: hint,
        when: hasScan,
        act: () => {
          session.hand.value = hand;
        },
      }),
    ),
    slipKey('r', 'Relate the rows selected', 'relate'),
    slipKey('d', 'Set the datum frame', 'frame'),
    slipKey('n', 'Write down a size measured by hand', 'by-hand'),
    slipKey('h', 'Hand over files', 'hand-over'),
    {
      key: 'shift+t',
      words: 'Type the title',
      act: () => document.querySelector<HTMLInputElement>('.title-block input')?.select(),
    },
    { key: 'ctrl+z', words: 'Undo', act: () => session.undo() },
    { key: 'ctrl+shift+z', words: 'Redo', act: () => session.redo() },
    { key: 'ctrl+y', words: 'Redo', act: () => session.redo() },
    {
      key: '?',
      words: 'Help',
      act: () => {
        desk.isHelpOpen.value = true;
      },
    },
    {
      key: 'Escape',
      words: 'Put away what is open; stop reading',
      when: () => slip.value !== undefined || session.opening.value !== undefined,
      act: () =>
        batch(() => {
          if (session.opening.value !== undefined) session.cancelOpening();
          else slip.value = undefined;
        }),
    },
  ];
}

/** Keys that slips listen to themselves. */
export const slipKeys: readonly KeyAct[] = [
  { key: 'Tab', words: 'The next field' },
  { key: 'Enter', words: 'Do what the slip is for, from any field' },
  { key: 'Escape', words: 'Put the slip away' },
  { key: 'ArrowUp', words: 'The line before or after, of what can be related' },
  { key: 'ArrowDown', words: 'The line before or after, of what can be related' },
  { key: 'x', words: 'Let an axis of the datum frame point the other way' },
  { key: 'y', words: 'Let an axis of the datum frame point the other way' },
  { key: 'z', words: 'Let an axis of the datum frame point the other way' },
];

/** Opens what is folded about a field, and goes there. */
function goTo(field: string): void {
  const found = document.querySelector<HTMLElement>(field);
  found?.closest('details')?.setAttribute('open', '');
  found?.focus();
}

/** The keys of the job sheet; with the table under focus it listens to some itself. */
export function sheetKeys(desk: Desk): readonly KeyAct[] {
  const { session } = desk;
  const one = (): string | undefined => (session.selected.value.length === 1 ? session.selected.value[0] : undefined);
  return [
    { key: 'ArrowUp', words: 'Select the row before or after, with the sheet under focus' },
    { key: 'ArrowDown', words: 'Select the row before or after, with the sheet under focus' },
    { key: 'shift+ArrowUp', words: 'Select that row too' },
    { key: 'shift+ArrowDown', words: 'Select that row too' },
    { key: 'Space', words: 'Select the row under focus, or no longer' },
    {
      key: 'Escape',
      words: 'Select nothing',
      when: () =>
        session.selected.value.length > 0 && desk.slip.value === undefined && session.opening.value === undefined,
      act: () => {
        session.selected.value = [];
      },
    },
    {
      key: 'F2',
      words: 'Rename the row selected',
      when: () => one() !== undefined,
      act: () => {
        desk.naming.value = one();
      },
    },
    {
      key: 'e',
      words: 'Change how the row selected is fitted, or its datum frame',
      when: () => changeSlip(desk) !== undefined,
      act: () => {
        desk.slip.value = changeSlip(desk);
      },
    },
    {
      key: 'm',
      words: 'Type a note to the row selected',
      when: () => one() !== undefined,
      act: () => goTo('.card .note-field input'),
    },
    {
      key: 'i',
      words: 'Type limits of the row selected',
      when: () => one() !== undefined,
      act: () => goTo('.card .limits-of input'),
    },
    {
      key: 'alt+ArrowUp',
      words: 'Move the row selected up',
      when: () => one() !== undefined,
      act: () => void moveRow(desk, one()!, -1),
    },
    {
      key: 'alt+ArrowDown',
      words: 'Move the row selected down',
      when: () => one() !== undefined,
      act: () => void moveRow(desk, one()!, 1),
    },
    {
      key: 'Delete',
      words: 'Take the rows selected out',
      when: () => session.selected.value.length > 0,
      act: () => removeRows(desk, session.selected.value),
    },
  ];
}
