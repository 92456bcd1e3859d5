import { type Scan, type Section, scanFrame, type Vec3 } from '@fettle/geom';
import { heightsOver } from './cut-away.js';
import { drawPicture, type Picture, type PictureOptions } from './render-picture.js';

/**
 * A picture of a scan cut open at a section, seen square to it from where its normal points, upright as the section's drawing:
 * what lies beyond the cut, and the cut as a line. Undefined where the section met nothing.
 *
 * @param setting of pictures of the same scan: frame, tints, balloons
 */
export function sectionPicture(section: Section, scan: Scan, setting: PictureOptions): Picture | undefined {
  const { plane, polylines } = section;
  if (polylines.length === 0) return undefined;
  const { x, y, z } = setting.frame ?? scanFrame;
  const { normal } = plane;
  const heights = heightsOver(scan, plane);
  const all = setting.focus ?? Uint32Array.from({ length: heights.length }, (_, i) => i);
  return drawPicture(scan, {
    ...setting,
    view: { from: [dot(normal, x), dot(normal, y), dot(normal, z)] },
    cut: { plane, lines: polylines },
    focus: all.filter((i) => heights[i]! <= 0),
  });
}

const dot = (a: Vec3, b: Vec3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
