import { datumFrame, intersectPlanes, type Plane, planeOf } from '@fettle/geom';
import { expect, test } from 'vitest';

const level: Plane = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] };

test('a normal or direction that points nowhere is refused by name, never carried on as NaN', () => {
  const nowhere: Plane = { ...level, normal: [0, 0, 0] };
  expect(() => intersectPlanes(level, nowhere)).toThrow(
    'The normal of a plane is (0, 0, 0): it points nowhere. Give three finite numbers, not all zero.',
  );
  const line = { kind: 'line', point: [0, 0, 0], direction: [Number.NaN, 0, 0] } as const;
  expect(() => datumFrame({ plane: level, line, origin: [0, 0, 0] })).toThrow(
    'The direction of a line is (NaN, 0, 0): it points nowhere.',
  );
});

test('a normal that is not of unit length is taken by its direction', () => {
  expect(planeOf({ ...level, normal: [0, 0, 2] }).normal).toEqual([0, 0, 1]);
});

test('a frame without a line says what it needs', () => {
  expect(() => datumFrame({ plane: level, origin: [0, 0, 0] } as never)).toThrow(
    'A datum frame needs a plane, a line and an origin, or three planes',
  );
});
