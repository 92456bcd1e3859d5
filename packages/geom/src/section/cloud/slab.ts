import { FettleError } from '../../error.js';
import type { Scan } from '../../scan/scan.js';
import { scanName } from '../../scan/scan-name.js';
import { pointSpacing } from '../../scan/spacing.js';
import { flatten, type SectionAxes } from '../axes.js';
import { howItMisses } from '../mesh/miss.js';
import { distanceFrom } from '../mesh/sides.js';
import type { Section } from '../section.js';
import { cloudCurves } from './cloud-curves.js';

/** Spacings from the plane within which points tell the curves: of a thicker slab the others make a slanted wall wide. */
const CURVE_SLAB = 2;

/**
 * The points of a cloud no farther than `halfThickness` from a plane, their projections on it, and the curves along which these
 * lie, ordered.
 */
export function cutCloud(scan: Scan, axes: SectionAxes, half?: number): Section {
  const spacing = pointSpacing(scan);
  const halfThickness = half ?? spacing;
  if (!(halfThickness > 0))
    throw new FettleError(
      'section-thickness',
      `${scanName(scan)}: a section of points needs a half-thickness above 0 mm, not ${halfThickness}. ` +
        'Give one to three times the point spacing.',
    );
  const { positions } = scan;
  const { normal } = axes.plane;
  const distance = distanceFrom(axes.plane);
  const count = scan.select ? scan.select.length : positions.length / 3;
  const inside: number[] = [];
  for (let i = 0; i < count; i++) {
    const p = scan.select ? scan.select[i] : i;
    const d = distance(positions, p);
    if (d <= halfThickness && d >= -halfThickness) inside.push(p);
  }
  if (inside.length === 0) throw new FettleError('section-misses', howItMisses(scan, axes.plane));
  const points = new Float64Array(3 * inside.length);
  /** Places among those inside of the points that tell the curves. */
  const near: number[] = [];
  for (const [i, p] of inside.entries()) {
    const d = distance(positions, p);
    for (let k = 0; k < 3; k++) points[3 * i + k] = positions[3 * p + k] - d * normal[k];
    if (Math.abs(d) <= CURVE_SLAB * spacing) near.push(i);
  }
  const flat = flatten(axes, points);
  const ofCurves = Float64Array.from(near.flatMap((i) => [flat[2 * i], flat[2 * i + 1]]));
  return {
    ...axes,
    polylines: cloudCurves(axes, ofCurves, spacing),
    select: Uint32Array.from(inside),
    points,
    flat,
    halfThickness,
  };
}
