import type { Circle, Line } from '../../feature/feature.js';
import type { Fit } from '../../fit/fit.js';
import { type CircleOptions, fitCircle } from '../../fit/shapes/circle.js';
import { fitLine, type LineOptions } from '../../fit/shapes/line.js';
import type { Section } from '../section.js';
import { type Stretch, stretchPoints } from './stretch.js';

/** The fit to a stretch of a section. Its indices are those of `points`. */
export type StretchFit<F extends Line | Circle> = Fit<F> & {
  /** The points fitted, xyz xyz …, in scan axes. */
  readonly points: Float64Array;
};

export interface StretchOptions {
  /** Fit places this far apart along the section, mm, instead of its own points. */
  readonly every?: number;
}

/**
 * A line or a circle through a stretch of a section, in space and in the plane of the section.
 *
 * The points are those of {@link stretchPoints}: by default where the section crosses the mesh's edges, each counted once. They
 * are measured, and dense where triangles are small; places `every` so many mm weigh the stretch evenly along its length, but
 * lie on chords, and more of them carry no more knowledge.
 *
 * @throws FettleError as stretchPoints, fitLine and fitCircle do.
 */
export function fitStretch(
  section: Section,
  stretch: Stretch,
  shape: 'line',
  options?: LineOptions & StretchOptions,
): StretchFit<Line>;
export function fitStretch(
  section: Section,
  stretch: Stretch,
  shape: 'circle',
  options?: Omit<CircleOptions, 'plane'> & StretchOptions,
): StretchFit<Circle>;
export function fitStretch(
  section: Section,
  stretch: Stretch,
  shape: 'line' | 'circle',
  options: StretchOptions & (LineOptions | Omit<CircleOptions, 'plane'>) = {},
): StretchFit<Line> | StretchFit<Circle> {
  const { every, ...fitOptions } = options;
  const { points, warnings } = stretchPoints(section, stretch, every);
  const fit =
    shape === 'line'
      ? fitLine({ positions: points }, fitOptions as LineOptions)
      : fitCircle({ positions: points }, { ...(fitOptions as CircleOptions), plane: section.plane });
  // By descriptors, because the uncertainty is worked out only when it is read.
  return Object.defineProperties({} as StretchFit<Line> & StretchFit<Circle>, {
    ...Object.getOwnPropertyDescriptors(fit),
    points: { value: points, enumerable: true },
    warnings: { value: [...warnings, ...fit.warnings], enumerable: true },
  });
}
