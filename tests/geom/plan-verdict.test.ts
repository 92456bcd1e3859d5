import { isUnsure } from '@fettle/io';
import { expect, test } from 'vitest';
import { judge } from '../../packages/geom/src/plan/step/judge.js';

test.each([undefined, Number.POSITIVE_INFINITY])(
  'a verdict on a value with ± %s is unsure, and says that nothing tells the ±',
  (uncertainty) => {
    const reading = { name: 'x', value: 5, unit: 'mm', ...(uncertainty !== undefined && { uncertainty }) } as const;
    const { values, warnings } = judge([reading], { x: { max: 6 } });
    expect(isUnsure(values[0])).toBe(true);
    expect(warnings.map(({ code }) => code)).toEqual(['limit-without-uncertainty']);
    expect(warnings[0].message).toBe(
      'x 5.000 mm is within its limit 6 mm, but nothing tells its uncertainty: the verdict could be the other. Check it by hand.',
    );
  },
);

test('the form of a fit and a size taken as given are judged as they stand', () => {
  const form = { name: 'form', value: 0.1, unit: 'mm' } as const;
  const given = { name: 'diameter', value: 16, unit: 'mm', given: true } as const;
  const { values, warnings } = judge([form, given], { form: { max: 0.2 }, diameter: { max: 16.1 } });
  expect(warnings).toEqual([]);
  expect(values.map(isUnsure)).toEqual([false, false]);
});
