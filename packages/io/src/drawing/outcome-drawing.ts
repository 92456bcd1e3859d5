import {
  type Feature,
  type FitStep,
  type ProfileMeasure,
  preparedScan,
  type Results,
  type Scan,
  type StepOutcome,
} from '@fettle/geom';
import type { Drawing } from './drawing.js';
import { dimensionOf, eachOnce, sizeLabels } from './feature-drawing.js';
import { look } from './feature-look.js';
import { reachOf } from './feature-reach.js';
import { type Told, toldByPoints } from './profile-sizes.js';
import { sectionDrawing, sightOfSection } from './section-drawing.js';
import { dot, type Sight } from './sight.js';
import { NOTES } from './size-text.js';

type SectionOutcome = Extract<StepOutcome, { kind: 'section' }>;
type FitOutcome = Extract<StepOutcome, { kind: 'fit' }>;

/**
 * What a section step gave, drawn with all the job sheet tells of it: its profile where it asked for one; the features fitted to it, with
 * their balloons and sizes; distances between such; and the bores and shafts it cuts along their axes.
 *
 * @param scan as it was given to the plan
 */
export function outcomeDrawing(outcome: SectionOutcome, results: Results, scan: Scan): Drawing {
  const { section, profile } = outcome;
  const { frame } = results;
  const sight = sightOfSection(section, frame);
  const { positions } = preparedScan(results.outcomes, scan);
  const rows = new Map(results.sheet.map((row) => [row.id, row]));
  const fits = fitsOn(outcome, results, sight);
  const seen = fits.map(({ id, fit }) => ({
    id,
    criterion: fit.criterion,
    seen: look(fit.feature, sight, reachOf({ kind: 'fit', id, fit }, positions)),
  }));
  const bare = sectionDrawing(section, {
    ...(frame && { frame }),
    ...(profile && { profiles: [profile.profile], told: [toldBy(outcome, results)] }),
    narrow: profile !== undefined || seen.length > 0,
  });
  const ids = new Set(fits.map(({ id }) => id));
  const between = results.outcomes.filter(({ id }) => {
    const step = results.plan.steps.find((one) => one.id === id);
    return step?.step === 'measure' && 'distance' in step && step.distance.every((end) => ids.has(end));
  });
  const dimensions = between.flatMap((one) => dimensionOf(one, sight, rows));
  const labels = eachOnce(sizeLabels(seen, rows));
  const told = labels.length + dimensions.length > 0 ? [NOTES.doubt] : [];
  return {
    ...bare,
    shapes: [...bare.shapes, ...seen.flatMap((one) => one.seen.shapes)],
    dimensions: [...bare.dimensions, ...dimensions],
    labels: [...bare.labels, ...labels],
    balloons: seen.flatMap(({ id, seen: { at } }) => {
      const number = rows.get(id)?.balloon;
      return number !== undefined && at ? [{ number, at }] : [];
    }),
    notes: [...new Set([...told, ...(bare.notes ?? [])])],
  };
}

/** An axis this near to a section lies in it, in radii of what is about the axis. */
const NEAR = 0.1;
/** And this near to parallel, as a sine: 0.6°. */
const ALIGNED = 0.01;

/** Fits to a section, and those of bores and shafts whose axes lie in it. */
function fitsOn({ id, section }: SectionOutcome, { outcomes, plan }: Results, { back }: Sight): FitOutcome[] {
  const to = new Map(plan.steps.flatMap((step) => (step.step === 'fit' ? [[step.id, (step as FitStep).to]] : [])));
  const { point } = section.plane;
  const isAlong = (feature: Feature): boolean => {
    if (feature.kind !== 'cylinder' || Math.abs(dot(feature.direction, back)) > ALIGNED) return false;
    const off = [0, 1, 2].map((k) => feature.point[k]! - point[k]!) as [number, number, number];
    return Math.abs(dot(off, back)) <= NEAR * feature.radius;
  };
  return outcomes.flatMap((one) =>
    one.kind === 'fit' && (to.get(one.id) === id || isAlong(one.fit.feature)) ? [one] : [],
  );
}

/** Sizes of a profile as its row of the job sheet has them, by the numbers of its pieces there. */
function toldBy({ id, profile }: SectionOutcome, { sheet }: Results): Told {
  const values = sheet.find((row) => row.id === id)?.values ?? [];
  const nameOf = ({ kind, pieces }: ProfileMeasure): string =>
    [kind, ...pieces.map((k) => profile!.order.indexOf(k) + 1).sort((a, b) => a - b)].join('-');
  return (measure) => values.find(({ name }) => name === nameOf(measure)) ?? toldByPoints(measure);
}
