import { FettleError } from '../error.js';
import type { Scan } from '../scan/scan.js';
import { pointSpacing } from '../scan/spacing.js';
import { flatten, type SectionAxes } from './axes.js';
import { howItMisses } from './miss.js';
import type { Section } from './section.js';
import { distanceFrom } from './sides.js';

/** The points of a cloud no farther than `halfThickness` from a plane, and their projections on it. */
export function cutCloud(scan: Scan, axes: SectionAxes, halfThickness = pointSpacing(scan)): Section {
  if (!(halfThickness > 0))
    throw new FettleError(
      'section-thickness',
      `${scan.name}: a section of points needs a half-thickness above 0 mm, not ${halfThickness}. ` +
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
  for (const [i, p] of inside.entries()) {
    const d = distance(positions, p);
    for (let k = 0; k < 3; k++) points[3 * i + k] = positions[3 * p + k] - d * normal[k];
  }
  return {
    ...axes,
    polylines: [],
    select: Uint32Array.from(inside),
    points,
    flat: flatten(axes, points),
    halfThickness,
  };
}
