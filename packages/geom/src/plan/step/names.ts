import type { FeatureKind } from '../../feature/feature.js';

export const featureKinds = [
  'plane',
  'line',
  'point',
  'circle',
  'sphere',
  'cylinder',
  'cone',
  'slot',
  'ellipse',
] as const satisfies readonly FeatureKind[];

const place = ['x', 'y', 'z'] as const;
const lean = ['angle-x', 'angle-y', 'angle-z'] as const;

/** Names of the values a feature has on the job sheet: what limits can be set on. */
export const featureValues: Readonly<Record<FeatureKind, readonly string[]>> = {
  point: place,
  plane: ['offset', ...place, ...lean],
  line: [...place, ...lean],
  circle: [...place, 'diameter', ...lean],
  sphere: [...place, 'diameter'],
  cylinder: [...place, 'diameter', ...lean],
  cone: [...place, 'diameter', 'cone-angle', ...lean],
  slot: [...place, 'length', 'width', ...lean],
  ellipse: [...place, 'major-diameter', 'minor-diameter', 'tilt', ...lean],
};

/** What the peak-to-valley deviation of a shape is called: ISO 12781, 12780, 12181, 12180; the others have no word. */
export const formName: Readonly<Record<FeatureKind, string>> = {
  point: 'form',
  plane: 'flatness',
  line: 'straightness',
  circle: 'roundness',
  sphere: 'form',
  cylinder: 'cylindricity',
  cone: 'form',
  slot: 'form',
  ellipse: 'form',
};

/** Names of the values a fit adds to those of its feature. */
export const fitValues = (shape: FeatureKind): readonly string[] => [...new Set(['rms', 'form', formName[shape]])];

/** Names of the values a datum frame from a plane, a line and a point has: how far those were from agreeing. */
export const planeLinePointValues: readonly string[] = [
  'line-lean',
  'line-off-plane',
  'origin-off-plane',
  'origin-off-line',
];

/** Names of the values a datum frame from three planes has: the angles between them. */
export const threePlanesValues: readonly string[] = ['primary-secondary', 'primary-tertiary', 'secondary-tertiary'];

/** Names of the values a pattern of holes adds to those of its feature, by the field that makes it. */
export const patternValues: Readonly<Record<string, readonly string[]>> = {
  boltCircle: ['spacing', 'off-place'],
  row: ['pitch', 'off-place'],
  grid: ['pitch', 'pitch-across', 'grid-angle', 'off-place'],
};
