import {
  type Feature,
  type Fit,
  type Plan,
  type PlanRun,
  preparedScan,
  type Results,
  regionArea,
  type Scan,
  type Section,
  type SheetRow,
  type StepOutcome,
} from '@fettle/geom';
import { stepOfResults } from '@fettle/io';
import { drawnFeature } from './drawn-feature.js';
import { givenPoints } from './given-points.js';
import type { DrawnFeature, RunView, SectionView, StepView } from './protocol.js';
import { refusalOf } from './refusal.js';

/** What of a step's view does not change while the step's outcome is the same object. */
type Shown = Omit<StepView, 'id' | 'step' | 'refusal' | 'row'>;

/** Makes views of runs on one scan; what did not change from the last run is not made again. */
export class StepViews {
  readonly #scan: Scan;
  readonly #shown = new WeakMap<StepOutcome, Shown>();

  constructor(scan: Scan) {
    this.#scan = scan;
  }

  ofRun(plan: Plan, run: PlanRun): RunView {
    const { passed, warnings } = run.results;
    return { steps: plan.steps.map(({ id }) => this.of(id, plan, run)), passed, warnings };
  }

  of(id: string, plan: Plan, { results, refusals }: PlanRun): StepView {
    const { step } = plan.steps.find((s) => s.id === id)!;
    const refused = refusals.find((refusal) => refusal.id === id);
    if (refused) return { id, step, refusal: refusalOf(refused.error, refused.waitsFor ?? id) };
    const outcome = results.outcomes.find((o) => o.id === id)!;
    const row: SheetRow | undefined = results.sheet.find((r) => r.id === id);
    return { id, step, ...(row && { row }), ...this.#show(outcome, results) };
  }

  #show(outcome: StepOutcome, results: Results): Shown {
    const before = this.#shown.get(outcome);
    if (before) return before;
    const shown = this.#make(outcome, results);
    this.#shown.set(outcome, shown);
    return shown;
  }

  #make(outcome: StepOutcome, results: Results): Shown {
    switch (outcome.kind) {
      case 'region': {
        const area = regionArea(preparedScan(results.outcomes, this.#scan, outcome.id), outcome.select);
        return { count: outcome.select.length, ...(area !== undefined && { area }) };
      }
      case 'fit':
        return {
          feature: outcome.fit.feature,
          count: outcome.fit.count,
          ...(!isOfSection(outcome.id, results) && {
            rejected: givenPoints(results.outcomes, outcome.id, outcome.fit.rejected),
          }),
          ...this.#drawn(outcome.id, results, outcome.fit),
        };
      case 'construct':
        return { feature: outcome.feature, ...this.#drawn(outcome.id, results) };
      case 'frame':
        return { matrix: frameMatrix(outcome.frame) };
      case 'section':
        return { section: sectionView(outcome.section) };
      case 'measure':
      case 'by-hand':
        return outcome.between ? { between: outcome.between } : {};
      default:
        return {};
    }
  }

  #drawn(id: string, results: Results, fit?: Fit<Feature>): { drawn?: DrawnFeature } {
    const [item] = stepOfResults(results, this.#scan, { in: 'scan', items: [id] });
    if (item === undefined) return {};
    const points =
      fit && !isOfSection(id, results)
        ? { positions: preparedScan(results.outcomes, this.#scan, id).positions, select: fit.used }
        : undefined;
    return { drawn: drawnFeature(item, points) };
  }
}

/** Whether a fit was made to a section, whose points are not those of the scan. */
export function isOfSection(id: string, { plan, outcomes }: Results): boolean {
  const step = plan.steps.find((s) => s.id === id);
  return step?.step === 'fit' && outcomes.some((o) => o.id === step.to && o.kind === 'section');
}

/** Frame to scan, column-major 4×4. */
function frameMatrix({ origin: o, x, y, z }: Extract<StepOutcome, { kind: 'frame' }>['frame']): Float64Array {
  return Float64Array.of(x[0], x[1], x[2], 0, y[0], y[1], y[2], 0, z[0], z[1], z[2], 0, o[0], o[1], o[2], 1);
}

function sectionView({ origin, x, y, plane, polylines, points }: Section): SectionView {
  return {
    origin,
    x,
    y,
    normal: plane.normal,
    polylines: polylines.map((piece) => ({ closed: piece.closed, points: piece.points, flat: piece.flat })),
    ...(points && { cloud: points }),
  };
}
