import {
  type Cylinder,
  FettleError,
  fitCircle,
  fitCone,
  fitCylinder,
  fitEllipse,
  fitLine,
  fitPlane,
  fitSlot,
  fitSphere,
  seededRandom,
} from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, onCap, onCone, onFloor, pointsOf } from './fit-surfaces.js';

/** Code and message of what `work` throws; a failure of any other kind is not words a person can act on. */
function refusal(work: () => unknown): { code: string; message: string } {
  try {
    work();
  } catch (error) {
    if (error instanceof FettleError) return { code: error.code, message: error.message };
    throw error;
  }
  throw new Error('nothing was thrown');
}

const floor = { positions: pointsOf(60, onFloor(seededRandom(1), 40, 30, 0.02)) };
const edge = { positions: pointsOf(60, (i) => [0.01 * (i % 3), 0.01 * (i % 2), i]) };
const rim = { positions: pointsOf(60, aroundZ(seededRandom(2), 9, 360, 0, 0.02)) };
const bore = { positions: pointsOf(200, aroundZ(seededRandom(3), 9, 360, 20, 0.02)) };
const ball = { positions: pointsOf(200, onCap(seededRandom(4), 12, 300, 0.02)) };
const taper = { positions: pointsOf(200, onCone(seededRandom(5), 9, 20, 10, 0.02)) };

describe('known values a shape does not have', () => {
  test.each([
    ['plane', () => fitPlane(floor, { known: { radius: 3 } as never }), 'radius', 'Of a plane direction can be known'],
    ['line', () => fitLine(edge, { known: { radius: 3 } as never }), 'radius', 'Of a line direction can be known'],
    [
      'sphere',
      () => fitSphere(ball, { known: { direction: [0, 0, 1] } as never }),
      'direction',
      'Of a sphere radius can be known',
    ],
    [
      'cylinder',
      () => fitCylinder(bore, { known: { halfAngle: 0.2 } as never }),
      'halfAngle',
      'Of a cylinder radius and direction can be known',
    ],
    [
      'cone',
      () => fitCone(taper, { known: { radius: 3 } as never }),
      'radius',
      'Of a cone halfAngle and direction can be known',
    ],
  ])('%s', (kind, fit, name, takes) => {
    expect(refusal(fit)).toEqual({ code: 'bad-known', message: `A ${kind} has no ${name} to be known. ${takes}.` });
  });

  test('one that is left undefined is none', () => {
    expect(fitPlane(floor, { known: { radius: undefined } as never }).known).toBeUndefined();
  });

  test('a diameter, a misspelled name', () => {
    const takes = 'Of a cylinder radius and direction can be known.';
    expect(refusal(() => fitCylinder(bore, { known: { diameter: 3 } as never }))).toEqual({
      code: 'bad-known',
      message: `There is no known diameter. Give half of it as radius. ${takes}`,
    });
    expect(refusal(() => fitCylinder(bore, { known: { raduis: 3 } as never }))).toEqual({
      code: 'bad-known',
      message: `There is no known raduis. Did you mean radius? ${takes}`,
    });
  });
});

describe('options', () => {
  test('a misspelled one is not passed over', () => {
    expect(refusal(() => fitPlane(floor, { rejct: 3 } as never))).toEqual({
      code: 'bad-option',
      message:
        'Fitting a plane has no option rejct. Did you mean reject? It takes criterion, trim, reject, robust, initial, scanner ' +
        'and known.',
    });
    for (const fit of [fitLine, fitCircle, fitSphere, fitCylinder, fitCone, fitSlot, fitEllipse])
      expect(refusal(() => fit(bore, { rejct: 3 } as never)).code).toBe('bad-option');
    expect(refusal(() => fitSlot(rim, { known: { radius: 3 } } as never)).message).toMatch(
      /^Fitting a slot has no option known\. /,
    );
  });

  test('a start of another kind', () => {
    const initial = fitCylinder(bore).feature;
    expect(refusal(() => fitPlane(floor, { initial: initial as never }))).toEqual({
      code: 'bad-option',
      message: 'initial is a cylinder: to fit a plane start from a plane, or leave it out.',
    });
    expect(refusal(() => fitEllipse(rim, { initial: initial as never })).message).toMatch(/start from an ellipse/);
    expect(refusal(() => fitCylinder(bore, { initial: {} as Cylinder })).message).toMatch(/^initial is no feature: /);
  });
});
