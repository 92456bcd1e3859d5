import { checkPlan, type Plan } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import {
  type ByHandForm,
  byHandStep,
  lackingWords,
  withHandSize,
} from '../../packages/viewer/src/paper/by-hand-choice.js';
import {
  changedFit,
  knownDiameter,
  knownHalfAngle,
  withDirection,
  withHalfAngle,
  withKnown,
} from '../../packages/viewer/src/paper/fit-change.js';

const fit = { step: 'fit', id: 'hole', shape: 'circle', to: 'all' } as const;
const form: ByHandForm = {
  what: 'size',
  id: 'caliper-1',
  value: 18,
  uncertainty: 0.04,
  instrument: 'caliper',
  note: '',
  use: 'alone',
};

describe('a size by hand', () => {
  test('is written down, or held against a row', () => {
    expect(byHandStep(form, undefined)).toEqual({
      step: 'by-hand',
      id: 'caliper-1',
      uncertainty: 0.04,
      instrument: 'caliper',
      size: 18,
    });
    expect(byHandStep({ ...form, use: 'beside', of: 'slot', dimension: 'width' }, undefined)).toMatchObject({
      of: 'slot',
      dimension: 'width',
    });
  });

  test('asks the tables what it was told to; a nominal size is for a class alone', () => {
    const asked = (asked: ByHandForm['asked']) => byHandStep({ ...form, ...(asked && { asked }) }, undefined);
    expect(asked({ screw: true, fit: ' H7/k6 ', nominal: 52 })).toMatchObject({
      screw: true,
      fit: 'H7/k6',
      nominal: 52,
    });
    for (const none of [{}, { fit: '  ', nominal: 52 }, { nominal: 52 }, undefined])
      expect(asked(none)).toEqual(byHandStep(form, undefined));
  });

  test.each([true, false])('given to a fit it stands before it, weighed: %s; the plan can be run', (weighed) => {
    const plan: Plan = { version: 1, title: 'Hole', steps: [fit] };
    const made = withHandSize(plan, byHandStep({ ...form, use: 'weighed', of: 'hole' }, undefined), 'hole', weighed);
    expect(made.steps.map(({ id }) => id)).toEqual(['caliper-1', 'hole']);
    expect(made.steps[1]).toEqual({
      ...fit,
      known: { diameter: weighed ? { from: 'caliper-1', prior: true } : 'caliper-1' },
    });
    expect(() => checkPlan(made)).not.toThrow();
  });

  test('a distance is told along an axis of the frame', () => {
    const between: ByHandForm = { ...form, what: 'distance', from: 'a', to: 'b', along: 'x' };
    expect(byHandStep(between, 'datum')).toMatchObject({ distance: 18, between: ['a', 'b'], along: 'x', in: 'datum' });
    expect(byHandStep(between, undefined)).not.toHaveProperty('in');
  });

  test('what the form lacks is said', () => {
    expect(lackingWords({ ...form, value: undefined })).toMatch(/^Type what the instrument read/);
    expect(lackingWords({ ...form, uncertainty: -1 })).toMatch(/^The ± is more than 0/);
    expect(lackingWords({ ...form, use: 'beside' })).toMatch(/^Choose the row/);
    expect(lackingWords({ ...form, use: 'weighed', of: 'hole', uncertainty: undefined })).toMatch(/needs its ±/);
    expect(lackingWords({ ...form, what: 'distance', from: 'a', to: 'a' })).toMatch(/^Choose the two rows/);
    expect(lackingWords(form)).toBeUndefined();
  });
});

describe('a fit is changed', () => {
  test('least squares is what stands when nothing is said, and trims nothing', () => {
    const trimmed = changedFit(fit, { criterion: 'maximum-inscribed', trim: 0.01 });
    expect(trimmed).toEqual({ ...fit, criterion: 'maximum-inscribed', trim: 0.01 });
    expect(changedFit(trimmed, { criterion: 'least-squares' })).toEqual(fit);
  });

  test('a radius is read as a diameter, and written as one', () => {
    const known = knownDiameter({ ...fit, known: { radius: { value: 9, uncertainty: 0.02, prior: true } } });
    expect(known).toEqual({ by: 'number', value: 18, uncertainty: 0.04, prior: true });
    expect(withKnown(fit, known).known).toEqual({ diameter: { value: 18, uncertainty: 0.04, prior: true } });
    expect(withKnown({ ...fit, known: { diameter: 18 } }, { by: 'scan' })).toEqual(fit);
    expect(knownDiameter(withKnown(fit, { by: 'row', from: 'caliper-1' }))).toEqual({ by: 'row', from: 'caliper-1' });
  });

  test('the half-angle of a cone is given in degrees, or weighed in; what else is known stays', () => {
    const cone = { ...fit, shape: 'cone', known: { direction: 'top' } } as const;
    const given = withHalfAngle(cone, { by: 'number', value: 45 });
    expect(given.known).toEqual({ direction: 'top', halfAngle: 45 });
    expect(() =>
      checkPlan({ version: 1, title: 'Countersink', steps: [{ ...given, known: { halfAngle: 45 } }] }),
    ).not.toThrow();
    const weighed = { by: 'number', value: 45, uncertainty: 0.5, prior: true } as const;
    expect(withHalfAngle(given, weighed).known?.halfAngle).toEqual({ value: 45, uncertainty: 0.5, prior: true });
    expect(knownHalfAngle(withHalfAngle(given, weighed))).toEqual(weighed);
    expect(knownHalfAngle(given)).toEqual({ by: 'number', value: 45 });
    expect(knownHalfAngle(withHalfAngle(given, { by: 'scan' }))).toEqual({ by: 'scan' });
    expect(withHalfAngle(given, { by: 'scan' })).toEqual(cone);
  });

  test('its direction is taken from a row', () => {
    const bore = { ...fit, shape: 'cylinder' } as const;
    expect(withDirection(bore, 'top').known).toEqual({ direction: 'top' });
    expect(withDirection({ ...bore, known: { direction: 'top' } }, undefined)).toEqual(bore);
  });
});
