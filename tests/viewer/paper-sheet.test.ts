import type { SheetRow, Step } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { limitNames, limitsOf, withLimits } from '../../packages/viewer/src/paper/limits-of.js';
import { idFrom } from '../../packages/viewer/src/paper/row-id.js';
import { pressed, rowAfter } from '../../packages/viewer/src/paper/sheet-selection.js';
import { extentWords, stepWords } from '../../packages/viewer/src/paper/step-words.js';
import { typedNumber } from '../../packages/viewer/src/paper/typed-number.js';

const ids = ['top', 'front', 'side', 'hole'];

describe('rows are selected', () => {
  test('one by a press, none by a second press on it', () => {
    expect(pressed([], 'top', {}, ids, undefined)).toEqual(['top']);
    expect(pressed(['side', 'top'], 'front', {}, ids, 'side')).toEqual(['front']);
    // Pressed twice, as for another name, it stays.
    expect(pressed(['top'], 'top', {}, ids, 'top')).toEqual(['top']);
  });
  test('several with ctrl, in the order they were pressed', () => {
    expect(pressed(['side'], 'top', { toggles: true }, ids, 'side')).toEqual(['side', 'top']);
    expect(pressed(['side', 'top'], 'side', { toggles: true }, ids, 'top')).toEqual(['top']);
  });
  test('a range with shift, from the row before to this one', () => {
    expect(pressed(['front'], 'hole', { extends: true }, ids, 'front')).toEqual(['front', 'side', 'hole']);
    expect(pressed(['side'], 'top', { extends: true }, ids, 'side')).toEqual(['side', 'front', 'top']);
  });
  test('by arrows, home and end, not past the ends', () => {
    expect(rowAfter(ids, undefined, 'ArrowDown')).toBe('top');
    expect(rowAfter(ids, 'hole', 'ArrowDown')).toBe('hole');
    expect(rowAfter(ids, 'front', 'ArrowUp')).toBe('top');
    expect(rowAfter(ids, 'side', 'Home')).toBe('top');
    expect(rowAfter(ids, 'side', 'End')).toBe('hole');
    expect(rowAfter(ids, 'side', 'x')).toBeUndefined();
  });
});

describe('limits are put on the values of a row', () => {
  const fit: Step = { step: 'fit', id: 'hole', shape: 'circle', to: 'rim' };
  const row = { values: [{ name: 'x' }, { name: 'diameter' }] } as unknown as SheetRow;
  test('of a fit by their names, form and rms among them', () => {
    expect(limitNames(fit, row)).toEqual(['x', 'diameter', 'form', 'rms']);
    const limited = withLimits(fit, 'diameter', { min: 17.9, max: 18.1 });
    expect(limited).toEqual({ ...fit, limits: { diameter: { min: 17.9, max: 18.1 } } });
    expect(limitsOf(limited, 'diameter')).toEqual({ min: 17.9, max: 18.1 });
    expect(withLimits(limited, 'diameter', { min: undefined, max: undefined })).toEqual(fit);
  });
  test('of a measured number there is one', () => {
    const angle: Step = { step: 'measure', id: 'draft', angle: ['front', 'top'] };
    const limited = withLimits(angle, 'angle', { max: 89 });
    expect(limited).toEqual({ ...angle, limits: { max: 89 } });
    expect(withLimits(limited, 'angle', {})).toEqual(angle);
  });
});

test('what a person types becomes an id and a number', () => {
  expect(idFrom('  Left Foot, upper ')).toBe('left-foot-upper');
  expect(idFrom('Ø18')).toBe('18');
  expect(typedNumber(' 12,5 ')).toBe(12.5);
  expect(typedNumber('−3')).toBe(-3);
  expect(typedNumber('')).toBeUndefined();
  expect(typedNumber('abc')).toBeNaN();
});

describe('steps without a row are told in words', () => {
  test.each<[Step, string]>([
    [{ step: 'region', id: 'a', grow: { from: [[0, 0, 0]], turn: 3, spread: 8 } }, 'grown from 1 place'],
    [{ step: 'region', id: 'a', join: ['b', 'c'], without: ['d'] }, 'b and c together without d'],
    [{ step: 'region', id: 'a', of: 'all' }, 'the whole scan'],
    [{ step: 'section', id: 'a', plane: 'top', offset: -1 }, 'cut along top, −1 mm off'],
    [{ step: 'section', id: 'a', axis: 'z', at: 12.5, in: 'datum' }, 'cut square to z at 12.5 mm in datum'],
    [{ step: 'deliver', id: 'a', scan: { format: '3mf' } }, 'hands over the scan as 3MF'],
  ])('%j', (step, words) => {
    expect(stepWords(step)).toBe(words);
  });
  test('with their extent', () => {
    expect(extentWords({ count: 12_345, area: 3_456 })).toBe('12,345 points, 34.6 cm²');
  });
});
