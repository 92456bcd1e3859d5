import { preparedScan, type Results, type Scan } from '@fettle/geom';
import { measuredMarks } from './measured-marks.js';
import { pictureFocus } from './picture-focus.js';
import { drawPicture, type Picture, type PictureOptions } from './render-picture.js';
import { pictureNormals } from './shade.js';

/** A picture of a scan with what was measured on it: tints, balloons, the datum frame. Needs results with outcomes. */
export const measuredPicture = (
  results: Results,
  scan: Scan,
  options: Pick<PictureOptions, 'view' | 'size' | 'markRadius'> = {},
): Picture => drawPicture(preparedScan(results.outcomes, scan), { ...measuredSetting(results, scan), ...options });

/** What pictures of the same results from all sides share; `scan` as it was given to the plan. */
export function measuredSetting(results: Results, given: Scan): PictureOptions {
  const scan = preparedScan(results.outcomes, given);
  const marks = measuredMarks(results, given);
  const focus = pictureFocus(scan, marks.regions);
  return {
    ...marks,
    normals: pictureNormals(scan),
    ...(focus && { focus }),
    ...(results.frame && { frame: results.frame }),
  };
}
