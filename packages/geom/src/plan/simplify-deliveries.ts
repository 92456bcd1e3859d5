import { type Simplified, type SimplifyOptions, simplifiedInWords, simplify } from '../prepare/simplify.js';
import { regionUnion } from '../region/combine.js';
import type { Scan } from '../scan/scan.js';
import { triangleIndex } from '../scan/triangle-index.js';
import { withFailedStep } from './failed-step.js';
import { preparedScan } from './prepared-scan.js';
import type { Results } from './results.js';
import type { DeliverScanStep } from './step/deliver-schema.js';
import type { Protection } from './step/fitted-points.js';
import type { StepOutcome } from './step/outcome.js';

type Delivery = Extract<StepOutcome, { kind: 'deliver' }>;

/**
 * Results whose deliveries are simplified as the plan asks, with the deviation measured: in `simplified` of the step's outcome, in words
 * among the warnings. Simplifying is no part of running the plan, since nothing is measured on what it gives: whoever
 * writes the files asks for it. Deliveries that are simplified already are left as they are; one that `simplify` refuses is among the
 * `failed` steps.
 *
 * @param scan as it was given to the plan
 * @throws the signal's error when it is aborted
 */
export async function simplifyDeliveries(
  results: Results,
  scan: Scan,
  signal?: { readonly aborted: boolean },
): Promise<Results> {
  let now = results;
  for (const outcome of results.outcomes) {
    const how = outcome.kind === 'deliver' && 'scan' in outcome.deliver ? outcome.deliver.scan.simplify : undefined;
    if (outcome.kind !== 'deliver' || how === undefined || outcome.simplified) continue;
    try {
      const simplified = await simplifyOne(outcome, how, preparedScan(results.outcomes, scan, outcome.id), signal);
      now = withSimplified(now, outcome.id, simplified);
    } catch (error) {
      if (signal?.aborted) throw error;
      now = withFailedStep(now, outcome.id, error);
    }
  }
  return now;
}

function withSimplified(results: Results, id: string, simplified: Simplified): Results {
  const message = `${id}: ${simplifiedInWords(simplified)}.`;
  return {
    ...results,
    outcomes: results.outcomes.map((one) => (one.kind === 'deliver' && one.id === id ? { ...one, simplified } : one)),
    warnings: [...results.warnings, { code: 'scan-simplified', message }],
  };
}

function simplifyOne(
  { protect }: Delivery,
  { triangles, deviation }: NonNullable<DeliverScanStep['scan']['simplify']>,
  scan: Scan,
  signal: { readonly aborted: boolean } | undefined,
): Promise<Simplified> {
  const options: SimplifyOptions = {
    ...(triangles !== undefined && { triangles }),
    ...(deviation !== undefined && { deviation }),
    ...(protect && scan.triangles && { protect: protectedPoints(scan, protect) }),
    ...(signal && { signal }),
  };
  return simplify(scan, options);
}

/** The points of regions, and the corners of the triangles under places. */
function protectedPoints(scan: Scan, { points, places }: Protection): Uint32Array {
  if (places.length === 0) return points;
  const index = triangleIndex(scan);
  const corners: number[] = [];
  for (let i = 0; i < places.length; i += 3) {
    const found = index.nearest([places[i], places[i + 1], places[i + 2]]);
    if (found) for (let k = 0; k < 3; k++) corners.push(scan.triangles![3 * found.element + k]);
  }
  return regionUnion(points, Uint32Array.from(corners));
}
