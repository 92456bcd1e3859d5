import type { Scan } from '../../scan/scan.js';
import { pointSpacing } from '../../scan/spacing.js';
import { regionArea } from '../extent.js';
import { cloudArea } from './cloud-area.js';

/** How large a region is. */
export interface RegionSize {
  readonly points: number;
  /** mm²; of a cloud about so much. */
  readonly area: number;
  /** Of the scan's points, 0 to 1. */
  readonly share: number;
}

/** @param radius of a disc with some ten points of a cloud, mm */
export function regionSize(scan: Scan, select: Uint32Array, radius = 4 * pointSpacing(scan)): RegionSize {
  return {
    points: select.length,
    area: regionArea(scan, select) ?? cloudArea(scan, select, radius),
    share: select.length / (scan.positions.length / 3),
  };
}
