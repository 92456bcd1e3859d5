import type { Warning } from '../../error.js';
import type { Scan } from '../../scan/scan.js';
import { pointSpacing } from '../../scan/spacing.js';
import { countText, lengthText } from '../../text/number-text.js';
import { type GrowOptions, grownFrom } from './grow.js';
import type { GrowthEnd, GrowthEnds, SeedNormal } from './growth.js';
import { type RegionSize, regionSize } from './region-size.js';

/** A region within so many radii normals are averaged over is no larger than what its normals were taken from. */
const fewestRadii = 2;
/** Fewer points than this, of a scan with noise, are a handful. */
const handful = 30;
/** A seed's normal tilted by this share of the turn overall decides itself where growing ends. */
const tooTilted = 1 / 4;

/** What is known of how a region grew. */
export interface Grown extends RegionSize {
  /** Why growing ended, by element of the rim. */
  readonly ends: GrowthEnds;
  /** The commonest reason; absent where there is no rim, as around a ball. */
  readonly end?: GrowthEnd;
  readonly normal: SeedNormal;
  /** `region-small`, `region-noisy` */
  readonly warnings: readonly Warning[];
}

export interface GrownRegion extends Grown {
  /** Point indices, ascending. */
  readonly select: Uint32Array;
}

/**
 * A region grown as by `growRegion`, with its size, why it ended, and warnings: `region-small` where it is hardly larger than what its
 * normals were averaged over, `region-noisy` where noise may have tilted the normal at the seed by a quarter of the turn overall.
 *
 * @throws FettleError as `growRegion` does
 */
export function grownRegion(scan: Scan, options: GrowOptions): GrownRegion {
  const { select, growth } = grownFrom(scan, options);
  const { normal } = growth;
  const ends = growth.ends();
  const size = regionSize(scan, select, Math.max(normal.radius, 4 * pointSpacing(scan)));
  const [end] = (Object.keys(ends) as GrowthEnd[]).filter((one) => ends[one] > 0).sort((a, b) => ends[b] - ends[a]);
  return {
    select,
    ...size,
    ends,
    ...(end && { end }),
    normal,
    warnings: [...smallness(size, normal), ...noisiness(normal, options)],
  };
}

function smallness({ points, area }: RegionSize, { radius }: SeedNormal): Warning[] {
  const needed = Math.PI * (fewestRadii * radius) ** 2;
  if (radius === 0 || (area >= needed && points >= handful)) return [];
  return [
    {
      code: 'region-small',
      message:
        `The region holds ${countText(points)} points on ${areaText(area)}; with the noise about its seed normals were averaged over a ` +
        `radius of ${lengthText(Number(radius.toPrecision(2)))}, and a region under ${areaText(needed)} does not show which surface it ` +
        'is on. Seed it farther from edges, or choose the points by a box.',
    },
  ];
}

function noisiness({ radius, tilt }: SeedNormal, { turnTotal }: GrowOptions): Warning[] {
  if (tilt <= tooTilted * turnTotal) return [];
  const degrees = (angle: number) => `${Number(((angle * 180) / Math.PI).toPrecision(2))}°`;
  return [
    {
      code: 'region-noisy',
      message:
        `Noise or an edge close by tilts the normal at the seed by about ${degrees(tilt)}, averaged over a radius of ` +
        `${lengthText(Number(radius.toPrecision(2)))}: with a spread of ${degrees(turnTotal)} that decides where growing ends. Seed it ` +
        'farther from edges, widen the spread, or choose the points by a box, and compare.',
    },
  ];
}

const areaText = (area: number): string => `${Number(area.toPrecision(3)).toLocaleString('en-US')} mm²`;
