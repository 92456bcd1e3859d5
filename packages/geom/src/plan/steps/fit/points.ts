import type { Warning } from '../../../error.js';
import type { Plane } from '../../../feature/feature.js';
import type { Points } from '../../../scan/scan.js';
import { type Stretch, stretchPoints } from '../../../section/stretch/stretch.js';
import type { Context } from '../../step/context.js';
import type { FitStep, Shape } from './schema.js';

/** What a fit is made to. */
export interface FitPoints {
  readonly points: Points;
  /** Of a section: the plane the points lie in. */
  readonly plane?: Plane;
  readonly warnings: readonly Warning[];
}

/** Shapes whose sign is that of the points' normals. */
const hasSide: readonly Shape[] = ['plane', 'circle'];

/** The points of the region or of the stretch of a section a step names. */
export function pointsOf(step: FitStep, context: Context): FitPoints {
  const { scan } = context;
  const cut = context.section(step.to);
  if (cut !== undefined) {
    const { points, warnings } = stretchPoints(cut.section, stretchOf(step, context), step.every);
    return { points: { positions: points }, plane: cut.section.plane, warnings };
  }
  const select = context.region(step.to);
  const points = select ? { ...scan, select } : scan;
  const normals = hasSide.includes(step.shape) ? context.normals.at(select) : undefined;
  return { points: normals ? { ...points, normals } : points, warnings: [] };
}

function stretchOf({ stretch, in: frameId }: FitStep, context: Context): Stretch {
  const frame = context.frame(frameId).value;
  if (stretch === undefined) return { box: everywhere };
  if ('box' in stretch) return { box: stretch.box, frame };
  if ('sphere' in stretch) return { within: stretch.sphere, frame };
  return { from: frame.toScan(stretch.from), to: frame.toScan(stretch.to), long: stretch.long ?? false };
}

const far = Number.MAX_VALUE;
const everywhere = { min: [-far, -far, -far], max: [far, far, far] } as const;
