import type { Warning } from '../../../error.js';
import type { Feature } from '../../../feature/feature.js';
import { expanded } from '../../../fit/expanded.js';
import type { Fit } from '../../../fit/fit.js';
import { lengthText } from '../../../scan/number-text.js';
import { chordsOf } from '../../../section/chords.js';
import type { Context } from '../../context.js';
import type { FitStep } from './schema.js';

/** A bias of more than this share of the ± makes it untrue. */
const SHARE = 0.5;

/**
 * Warns of a fit to the section of a mesh that runs so near to an edge of the body, or over so tight a bend, that the triangles round
 * it off: what is fitted there is off by more than its ± has room for, and no residual shows it.
 */
export function edgeRounded(step: FitStep, fit: Fit<Feature>, points: Float64Array, context: Context): Warning[] {
  const { scan } = context;
  const cut = context.section(step.to);
  if (cut === undefined || scan.triangles === undefined || step.every !== undefined) return [];
  const used = Float64Array.from([...fit.used].flatMap((i) => [points[3 * i], points[3 * i + 1], points[3 * i + 2]]));
  const chords = chordsOf({ ...scan, triangles: scan.triangles }, cut.section.plane, used, (at) =>
    context.normals.at(at),
  );
  if (chords === undefined || chords.turning === 0) return [];
  const { position, radius, width } = expanded(fit.uncertainty);
  const stated = Math.min(...[position, radius, width].flatMap((part) => (part && part.value > 0 ? [part.value] : [])));
  const { under, turning, side } = chords;
  if (!(Math.abs(under) > SHARE * stated)) return [];
  return [
    {
      code: 'edge-rounded',
      message:
        `The section runs along an edge that the triangles round off: at ${Math.max(1, Math.round(100 * turning))} % of its points the ` +
        `surface turns by more than 20° over one triangle of some ${lengthText(Number(side.toPrecision(2)))}. The ${step.shape} may be ` +
        `off by some ${lengthText(Number(Math.abs(under).toPrecision(1)))}, which its ± does not tell. Cut farther from the edge, ` +
        'by two triangles or more, or scan finer.',
    },
  ];
}
