import { checkPlan, type FettleError } from '@fettle/geom';
import { measureFiles } from '@fettle/io/node';
import { expect, test } from 'vitest';
import { checkDrawings } from '../../packages/io/src/drawing/planned-drawings.js';

const circles = (count: number, more: object = {}) =>
  Array.from({ length: count }, (_, i) => ({ step: 'fit', id: `hole-${i + 1}`, shape: 'circle', to: 'all', ...more }));
const point = (id: string, at: readonly number[], more: object = {}) => ({ step: 'construct', id, point: at, ...more });
const drawing = (more: object = {}) => ({ step: 'deliver', id: 'sheet', drawing: more });
const planOf = (...steps: object[]) => ({ version: 1, title: 'Plate', steps });
const said = (...steps: object[]): string | undefined => {
  try {
    checkDrawings(checkPlan(planOf(...steps)));
    return undefined;
  } catch (error) {
    return `${(error as FettleError).code} ${(error as Error).message}`;
  }
};

test('a table of places that leaves no room on the paper named is refused from the plan alone', () => {
  // Of 210 mm across and 30 for margins a title block of 180 leaves nothing beside it: the table stands above it, 4.5 mm a row.
  expect(said(...circles(60), drawing({ paper: 'A4 landscape' }))).toMatch(
    /^drawing-too-large sheet: Its table of places, 275 mm high, leaves no room for the drawing on A4 landscape\. Choose larger paper\.$/,
  );
  expect(said(...circles(60), drawing({ paper: 'A1' }))).toBeUndefined();
  // Absent paper is the smallest that holds it, up to A0: 841 mm high.
  expect(said(...circles(60), drawing())).toBeUndefined();
  expect(said(...circles(190), drawing())).toMatch(/leaves no room for the drawing on A0\. Measure fewer features/);
});

test('rows that are not certain do not count', () => {
  expect(said(...circles(60, { optional: true }), drawing({ paper: 'A4 landscape' }))).toBeUndefined();
  expect(said(...circles(60, { criterion: 'minimum-zone' }), drawing({ paper: 'A4 landscape' }))).toBeUndefined();
  expect(said(...circles(60), { ...drawing({ paper: 'A4 landscape' }), optional: true })).toBeUndefined();
});

test('places stated farther apart than the paper is wide at this scale, and a sphere of stated size', () => {
  const apart = [point('a', [0, 0, 0]), point('b', [300, 0, 0])];
  expect(said(...apart, drawing({ paper: 'A4' }))).toMatch(
    /^drawing-too-large sheet: At scale 1 the drawing needs 340 × 40 mm, more than A4 holds\. Choose larger paper or a scale of about 0\.\d\.$/,
  );
  expect(said(...apart, drawing({ paper: 'A4', scale: 0.2 }))).toBeUndefined();
  expect(said(...apart, drawing({ paper: 'A4', view: 'left' }))).toBeUndefined();
  const ball = { step: 'fit', id: 'ball', shape: 'sphere', to: 'all', known: { diameter: 500 } };
  expect(said(ball, drawing({ paper: 'A3' }))).toMatch(/needs 540 × 540 mm/);
  expect(said(ball, drawing({ paper: 'A3', scale: 0.2 }))).toBeUndefined();
});

test('places in axes that are not those of the drawing tell nothing', () => {
  const frame = { step: 'frame', id: 'datum', planes: ['p', 'q', 'r'] };
  const planes = ['p', 'q', 'r'].map((id) => ({ step: 'fit', id, shape: 'plane', to: 'all' }));
  const inScan = [point('a', [0, 0, 0]), point('b', [300, 0, 0])];
  expect(said(...planes, frame, ...inScan, drawing({ paper: 'A4' }))).toBeUndefined();
  const inFrame = [point('a', [0, 0, 0], { in: 'datum' }), point('b', [300, 0, 0], { in: 'datum' })];
  expect(said(...planes, frame, ...inFrame, drawing({ paper: 'A4' }))).toMatch(/needs 340/);
});

test('nothing is measured by such a plan: the scan is not even looked for', async () => {
  const plan = planOf(...circles(60), drawing({ paper: 'A4 landscape' }));
  await expect(measureFiles(plan, ['there-is-no-such.ply'])).rejects.toMatchObject({ code: 'drawing-too-large' });
});
