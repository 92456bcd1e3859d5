import { haveCenter, havePlane } from '../../feature/roles.js';
import { dropPieces } from '../../prepare/drop-pieces.js';
import { dropStrays } from '../../prepare/drop-strays.js';
import { dropDuplicateTriangles } from '../../prepare/duplicate-triangles.js';
import { type LengthCheck, lengthCheckInWords } from '../../prepare/known-length.js';
import { allKept, type Prepared, removedInWords } from '../../prepare/prepared.js';
import { dropSlivers } from '../../prepare/slivers.js';
import { thin } from '../../prepare/thin.js';
import { weld } from '../../prepare/weld.js';
import { type Hole, holes } from '../../scan/holes.js';
import { together } from '../../text/in-words.js';
import { countText, lengthText } from '../../text/number-text.js';
import type { Context } from '../step/context.js';
import type { OutcomeOf, Reference, StepKind } from '../step/kind.js';
import { cropped } from './prepare/crop-shape.js';
import { checkKnownLength } from './prepare/known-length.js';
import { type PrepareStep, prepareSchemas } from './prepare/schema.js';

export { type PrepareStep, prepareSchemas };

interface Work {
  readonly prepared: Prepared;
  /** What was done, in words that `: so many points left out` can follow; all there is to say with `length`. */
  readonly what: string;
  readonly length?: LengthCheck;
  readonly holes?: readonly Hole[];
}

function work(step: PrepareStep, context: Context): Work {
  const { scan } = context;
  if ('crop' in step) return { prepared: cropped(step, context), what: 'cropped' };
  if ('pieces' in step) {
    const prepared = dropPieces(scan, step.pieces as Parameters<typeof dropPieces>[1]);
    const { keptPieces, removedPieces } = prepared;
    const all = keptPieces.length + removedPieces.length;
    return { prepared, what: `${countText(removedPieces.length)} of ${countText(all)} pieces left out` };
  }
  if ('strays' in step) {
    const prepared = dropStrays(scan, step.strays as Parameters<typeof dropStrays>[1]);
    const { usual, limit } = prepared;
    return {
      prepared,
      what: `strays over ${lengthText(limit)} from their neighbors left out, where ${lengthText(usual)} is usual`,
    };
  }
  if ('thin' in step) {
    const { cell, keep = 'nearest' } = step.thin;
    const what = `thinned to one point a cell of ${lengthText(cell)}${keep === 'mean' ? ', the mean of its points' : ''}`;
    return { prepared: thin(scan, { cell, keep }), what };
  }
  if ('weld' in step) {
    const { within = 0 } = step.weld;
    const what = within === 0 ? 'points at one place welded' : `points within ${lengthText(within)} welded`;
    return { prepared: weld(scan, { within }), what };
  }
  if ('duplicates' in step) return { prepared: dropDuplicateTriangles(scan), what: 'duplicate triangles left out' };
  if ('slivers' in step) {
    const { height = 0 } = step.slivers;
    const what =
      height === 0 ? 'triangles without area left out' : `triangles up to ${lengthText(height)} high left out`;
    return { prepared: dropSlivers(scan, { height }), what };
  }
  if ('holes' in step) {
    const { over = 0 } = step.holes;
    const found = holes(scan).filter(({ perimeter }) => perimeter > over);
    return { prepared: allKept(scan), holes: found, what: holesInWords(found, over) };
  }
  const length = checkKnownLength(step, context);
  return {
    prepared: { ...allKept(scan), scan: length.scan, partial: !length.applied },
    length,
    what: lengthCheckInWords(length),
  };
}

/** `57 boundary loops, of 830.2 mm, 12.1 mm, 8.4 mm and less` */
function holesInWords(found: readonly Hole[], over: number): string {
  const which = `boundary loop${found.length === 1 ? '' : 's'}${over > 0 ? ` over ${lengthText(over)}` : ''}`;
  if (found.length === 0) return `no ${which}`;
  const longest = found.slice(0, 3).map(({ perimeter }) => lengthText(perimeter));
  return `${countText(found.length)} ${which}, of ${found.length > 3 ? `${longest.join(', ')} and less` : together(longest)}`;
}

const changes = ({ removedPoints, removedTriangles }: Prepared): boolean =>
  removedPoints.length + removedTriangles.length > 0;

/**
 * Later steps see the scan as this one leaves it. What was found before stays: features, frames and sections are places in space,
 * unless a scale is applied. Regions name points by number and are out of date once points go.
 */
export const prepareStep: StepKind<PrepareStep, OutcomeOf<'prepare'>> = {
  forms: prepareSchemas,
  references(step) {
    const found: Reference[] = [];
    if ('in' in step && step.in !== undefined) found.push({ path: ['in'], id: step.in, accepts: ['frame'] });
    if ('crop' in step && step.crop.halfSpace !== undefined && 'plane' in step.crop.halfSpace)
      found.push({ path: ['crop', 'halfSpace', 'plane'], id: step.crop.halfSpace.plane, accepts: havePlane });
    if ('scale' in step)
      for (const [i, place] of step.scale.between.entries())
        if (typeof place === 'string') found.push({ path: ['scale', 'between', i], id: place, accepts: haveCenter });
    return found;
  },
  yields: () => 'preparation',
  outdates(step) {
    if ('scale' in step) return step.scale.apply === true ? 'everything' : 'nothing';
    return 'duplicates' in step || 'slivers' in step || 'holes' in step ? 'nothing' : 'regions';
  },
  object(step) {
    if (!('in' in step) || step.in === undefined) return [];
    const placed =
      'crop' in step
        ? step.crop.halfSpace === undefined || 'point' in step.crop.halfSpace
        : step.scale.between.some((place) => typeof place !== 'string');
    return placed ? [] : [{ path: ['in'], expected: 'coordinates in this step', found: 'ids alone' }];
  },
  run(step, context) {
    const { prepared, what, length, holes: found } = work(step, context);
    const words = length !== undefined || found !== undefined ? what : `${what}: ${removedInWords(prepared)}`;
    const code = length !== undefined ? 'known-length' : found !== undefined ? 'holes' : 'scan-prepared';
    const isTold = code !== 'scan-prepared' || changes(prepared);
    const warnings = isTold ? [{ code, message: `${words}.` }] : [];
    const more = { ...(length && { length }), ...(found && { holes: found }) };
    return { outcome: { kind: 'prepare', id: step.id, prepared, words, ...more, warnings } };
  },
};
