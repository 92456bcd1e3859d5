import type { Plane } from '../../feature/feature.js';
import type { Points } from '../../scan/scan.js';
import { scanName } from '../../scan/scan-name.js';
import { lengthText } from '../../text/number-text.js';
import { distanceFrom } from './sides.js';

/** In words, how far a plane is from points it does not cut. `corners` names those of the points that count. */
export function howItMisses(scan: Points & { readonly name: string }, plane: Plane, corners = scan.select): string {
  const distance = distanceFrom(plane);
  const count = corners ? corners.length : scan.positions.length / 3;
  let below = -Infinity;
  let above = Infinity;
  for (let i = 0; i < count; i++) {
    const d = distance(scan.positions, corners ? corners[i] : i);
    if (d < 0) below = Math.max(below, d);
    else above = Math.min(above, d);
  }
  const opening = `${scanName(scan)}: the section plane `;
  if (below === -Infinity && above > 0)
    return `${opening}misses by ${lengthText(above)}: all of the scan lies on the side its normal points to. Move it that way.`;
  if (above === Infinity)
    return `${opening}misses by ${lengthText(-below)}: all of the scan lies on the side its normal points away from. Move it that way.`;
  const by = Math.min(above, -below);
  return by > 0
    ? `${opening}misses by ${lengthText(by)}: it passes between parts of the scan. Move it.`
    : `${opening}only touches the scan. Move it into the scan.`;
}
