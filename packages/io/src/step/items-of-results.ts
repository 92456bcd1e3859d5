import {
  type Feature,
  FettleError,
  type Frame,
  type Results,
  type Scan,
  type StepOutcome,
  scanFrame,
} from '@fettle/geom';
import { coneExtent, cylinderExtent, lineExtent, planeExtent, sphereExtent } from './extent.js';
import { directionIn, featureIn, pieceIn } from './in-frame.js';
import type { StepItem } from './item.js';
import { Reach } from './reach.js';
import { sectionWires } from './section-wires.js';

export interface StepOfResultsOptions {
  /** Frame the file is in: the id of one of the results'. `scan`: the scan's own axes. Default: the last frame, else the scan's axes. */
  readonly in?: string | undefined;
  /** Ids of the steps to write. Default: all that are geometry. */
  readonly items?: readonly string[] | undefined;
  /** `profiles`: sections as chains of lines and arcs. `polylines`: every crossing of the mesh, as lines. Default `profiles`. */
  readonly sections?: 'profiles' | 'polylines' | undefined;
}

/**
 * What a plan found on a scan, ready for `writeStep`: fitted features cut to the points they were fitted to, constructed ones to the
 * points of what they were made from, sections as wires, frames as placements; each named by its id. In the datum frame.
 *
 * Errors: `frame-unknown`, `item-unknown`.
 */
export function stepOfResults(results: Results, scan: Scan, options: StepOfResultsOptions = {}): StepItem[] {
  const { sections = 'profiles', items } = options;
  const frame = frameIn(results, options.in);
  const unknown = items?.find((id) => !results.outcomes.some((outcome) => outcome.id === id));
  if (unknown !== undefined)
    throw new FettleError(
      'item-unknown',
      `STEP not written: the results have no "${unknown}". Name steps of the plan.`,
    );
  const wanted = results.outcomes.filter(({ id }) => items === undefined || items.includes(id));
  const reach = new Reach(results, scan, frame);
  return wanted.flatMap((outcome) => itemsOf(outcome, frame, reach, sections));
}

function frameIn({ frame, outcomes }: Results, id: string | undefined): Frame {
  if (id === undefined) return frame ?? scanFrame;
  if (id === 'scan') return scanFrame;
  for (const outcome of outcomes) if (outcome.kind === 'frame' && outcome.id === id) return outcome.frame;
  throw new FettleError(
    'frame-unknown',
    `STEP not written: the results have no frame "${id}". Name one of the plan, or "scan".`,
  );
}

function itemsOf(outcome: StepOutcome, frame: Frame, reach: Reach, sections: 'profiles' | 'polylines'): StepItem[] {
  const { kind, id: name } = outcome;
  if (kind === 'fit') return [cut(featureIn(outcome.fit.feature, frame), name, reach)];
  if (kind === 'construct') return [cut(featureIn(outcome.feature, frame), name, reach)];
  if (kind === 'frame') {
    const { origin, x, y } = outcome.frame;
    return [{ kind: 'frame', name, origin: frame.toFrame(origin), x: directionIn(x, frame), y: directionIn(y, frame) }];
  }
  if (kind !== 'section') return [];
  const chains = sectionWires(outcome.section, sections, outcome.profile);
  if (chains.length === 0) return [];
  return [{ kind: 'wire', name, chains: chains.map((pieces) => pieces.map((piece) => pieceIn(piece, frame))) }];
}

function cut(feature: Feature, name: string, reach: Reach): StepItem {
  switch (feature.kind) {
    case 'plane':
      return { ...planeExtent(feature, reach.of(name)), name };
    case 'line':
      return { ...lineExtent(feature, reach.of(name)), name };
    case 'cylinder':
      return { ...cylinderExtent(feature, reach.of(name)), name };
    case 'cone':
      return { ...coneExtent(feature, reach.of(name)), name };
    case 'sphere':
      return { ...sphereExtent(feature, reach.of(name)), name };
    default:
      return { ...feature, name };
  }
}
