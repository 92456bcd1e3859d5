import { distanceOf } from '../../../construct/distance.js';
import { derive, type Uncertain } from '../../../construct/propagate.js';
import { FettleError } from '../../../error.js';
import type { Feature } from '../../../feature/feature.js';
import { dot, subtract, type Vec3 } from '../../../math/vec3.js';
import type { Context } from '../../step/context.js';
import { placeOf } from '../../step/place-readings.js';
import type { DistanceByHand, dimensions, SizeByHand } from './schema.js';

type Dimension = (typeof dimensions)[number];

/** The sizes of each kind of feature, mm. */
const sizes: {
  readonly [K in Feature['kind']]?: Partial<Record<Dimension, (f: Extract<Feature, { kind: K }>) => number>>;
} = {
  circle: { diameter: (f) => 2 * f.radius },
  sphere: { diameter: (f) => 2 * f.radius },
  cylinder: { diameter: (f) => 2 * f.radius },
  slot: { length: (f) => f.length, width: (f) => f.width },
  ellipse: { 'major-diameter': (f) => 2 * f.major, 'minor-diameter': (f) => 2 * f.minor },
};

/** Kinds of feature that have a size. */
export const haveSize = ['circle', 'sphere', 'cylinder', 'slot', 'ellipse'] as const;

export const dimensionsOf = (kind: (typeof haveSize)[number]): readonly string[] => Object.keys(sizes[kind] ?? {});

/**
 * The size of a feature that a step was measured on.
 *
 * @throws FettleError `size-given` if the plan gave the feature its size: that would be held against itself
 */
export function sizeOnScan(
  { of, dimension = 'diameter' }: SizeByHand,
  context: Context,
): Uncertain<number> | undefined {
  if (of === undefined) return undefined;
  if (context.hasGivenSize(of))
    throw new FettleError(
      'size-given',
      `"${of}" has its size from the plan, not from the scan: there is nothing of the scan to hold this size against. Name a fit ` +
        'to the same points without a known size.',
    );
  const feature = context.feature(of);
  const own = sizes[feature.value.kind] as Partial<Record<Dimension, (f: Feature) => number>>;
  return derive([feature], own[dimension]!);
}

/** The distance a step was measured on, without its sign, and its ends. */
export function distanceOnScan(
  { between, along, in: frameId }: DistanceByHand,
  context: Context,
): { readonly distance: Uncertain<number>; readonly ends: readonly [Vec3, Vec3] } {
  const [first, second] = between.map((id) => context.feature(id)) as [Uncertain<Feature>, Uncertain<Feature>];
  if (along !== undefined) {
    const frame = context.frame(frameId);
    const part = derive([first, second, frame], (a, b, f) => dot(f[along], subtract(placeOf(b), placeOf(a))));
    return { distance: derive([part], Math.abs), ends: [placeOf(first.value), placeOf(second.value)] };
  }
  const whole = derive([first, second], (a, b) => distanceOf(a, b));
  return { distance: derive([whole], ({ value }) => Math.abs(value)), ends: [whole.value.from, whole.value.to] };
}
