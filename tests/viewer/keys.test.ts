import { expect, test } from 'vitest';
import { nameOfKey } from '../../packages/viewer/src/keys/keys.js';

const none = { ctrlKey: false, metaKey: false, shiftKey: false, altKey: false };
const altGraph = { getModifierState: (key: string) => key === 'AltGraph' };

test.each([
  ['a letter', { ...none, key: 'G', shiftKey: true }, 'shift+g'],
  ['ctrl, or command on a Mac', { ...none, key: 'z', metaKey: true }, 'ctrl+z'],
  ['a named key with all that is held', { ...none, key: 'ArrowUp', altKey: true, shiftKey: true }, 'alt+shift+ArrowUp'],
  ['a sign that needs shift', { ...none, key: '?', shiftKey: true }, '?'],
  [
    'a bracket that needs AltGr, told as ctrl and alt',
    { ...none, ...altGraph, key: '[', ctrlKey: true, altKey: true },
    '[',
  ],
  ['a bracket with ctrl', { ...none, key: '[', ctrlKey: true }, 'ctrl+['],
  ['space', { ...none, key: ' ', shiftKey: true }, 'shift+Space'],
] as const)('%s', (_, event, name) => {
  expect(nameOfKey(event)).toBe(name);
});
