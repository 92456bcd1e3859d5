import { alignScan, inPlace } from '../align/align-scan.js';
import type { Alignment } from '../align/alignment.js';
import { scanOfReference } from '../align/kept-reference.js';
import { FettleError } from '../error.js';
import { expanded } from '../fit/uncertainty/expanded.js';
import type { Scan } from '../scan/scan.js';
import { transformScan } from '../scan/transform.js';
import type { Plan } from './plan.js';
import type { LaidScan } from './results.js';

/** Scans that were laid on a reference, and on which. */
const laidOn = new WeakMap<Scan, { readonly surface: string; readonly laid: LaidScan }>();

/**
 * The scan laid on the plan's reference, in the axes the plan speaks in; as it is where the plan has none. All that follows (the plan's
 * run, what it delivers) is to be given this scan.
 *
 * @throws AlignmentError as `alignScan` does; FettleError `reference-damaged`
 */
export function layOnReference<S extends Scan>({ reference }: Plan, scan: S): S {
  if (!reference || laidOn.get(scan)?.surface === reference.surface) return scan;
  const alignment = alignScan(scan, scanOfReference(reference));
  const moved = alignment.inPlace ? scan : { ...scan, ...transformScan(scan, alignment.move.matrix) };
  laidOn.set(moved, { surface: reference.surface, laid: laidOf(alignment) });
  return moved;
}

/**
 * How a scan lies on the plan's reference; undefined where the plan has none.
 *
 * @throws FettleError `scan-not-laid` for a scan that lies elsewhere
 */
export function laidScan({ reference }: Plan, scan: Scan): LaidScan | undefined {
  if (!reference) return undefined;
  const known = laidOn.get(scan);
  if (known?.surface === reference.surface) return known.laid;
  const found = inPlace(scan, scanOfReference(reference));
  if (!found)
    throw new FettleError(
      'scan-not-laid',
      `${scan.name} does not lie where the plan's reference does: its places would be other places of the object. Lay it on the reference ` +
        'first (layOnReference, as fettle measure does).',
    );
  const laid = laidOf(found);
  laidOn.set(scan, { surface: reference.surface, laid });
  return laid;
}

function laidOf({ move, share, rms, uncertainty, inPlace: wasThere }: Alignment): LaidScan {
  const { position, direction } = expanded(uncertainty);
  return {
    matrix: Array.from(move.matrix),
    share,
    rms,
    off: position.value + (direction?.value ?? 0) * uncertainty.reach,
    inPlace: wasThere,
  };
}
