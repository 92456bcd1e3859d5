import {
  acuteAngle,
  checkPlan,
  directionOf,
  type Feature,
  type Plan,
  PlanError,
  type PlanRun,
  type Step,
} from '@fettle/geom';
import type { Relation, StepView } from './protocol.js';

/** A step that might be made of the rows named; its id is set later. */
type Wanted = Record<string, unknown> & { readonly step: 'construct' | 'measure' };

/** One way to build or measure something. */
interface Way {
  /** What its id begins with. */
  readonly word: string;
  /** Of rows in the order they were selected. Ways that make no sense for their kinds are refused when tried. */
  steps(ids: readonly string[]): Wanted[];
  /** Whether it says anything of these features. */
  isTelling?(features: readonly Feature[]): boolean;
}

const degrees = Math.PI / 180;

/** The angle between the first two, radians; undefined where one has no direction. */
function angleOfFirst([a, b]: readonly Feature[]): number | undefined {
  if (a === undefined || b === undefined || !hasDirection(a) || !hasDirection(b)) return undefined;
  return acuteAngle(directionOf(a), directionOf(b));
}

type Directed = Parameters<typeof directionOf>[0];
const hasDirection = (feature: Feature): feature is Directed & Feature =>
  feature.kind !== 'point' && feature.kind !== 'sphere';

/** Between parallel things, up to 5°; what is farther off is not meant to be parallel. */
const nearlyParallel = (features: readonly Feature[]): boolean => (angleOfFirst(features) ?? 0) < 5 * degrees;
const nearlySquare = (features: readonly Feature[]): boolean => (angleOfFirst(features) ?? 0) > 85 * degrees;
/** An axis lies along a face square to its normal. */
const isMixed = ([a, b]: readonly Feature[]): boolean => (a?.kind === 'plane') !== (b?.kind === 'plane');
const runAlong = (features: readonly Feature[]): boolean =>
  isMixed(features) ? nearlySquare(features) : nearlyParallel(features);
const standSquare = (features: readonly Feature[]): boolean =>
  isMixed(features) ? nearlyParallel(features) : nearlySquare(features);

const both = (ids: readonly string[], step: (a: string, b: string) => Wanted): Wanted[] =>
  ids.length === 2 ? [step(ids[0]!, ids[1]!), step(ids[1]!, ids[0]!)] : [];
const pair = (ids: readonly string[], step: (pair: readonly string[]) => Wanted): Wanted[] =>
  ids.length === 2 ? [step(ids)] : [];
const three = (ids: readonly string[], step: (three: readonly string[]) => Wanted): Wanted[] =>
  ids.length === 3 ? [step(ids)] : [];

/** In the order in which they are wanted most. */
const ways: readonly Way[] = [
  { word: 'corner', steps: (ids) => three(ids, (i) => ({ step: 'construct', intersect: i })) },
  {
    word: 'edge',
    steps: (ids) => pair(ids, (i) => ({ step: 'construct', intersect: i })),
    isTelling: (f) => !f.every(({ kind }) => kind === 'plane') || !nearlyParallel(f),
  },
  { word: 'distance', steps: (ids) => pair(ids, (i) => ({ step: 'measure', distance: i })) },
  { word: 'step', steps: (ids) => pair(ids, (i) => ({ step: 'measure', stepHeight: i })), isTelling: nearlyParallel },
  { word: 'angle', steps: (ids) => pair(ids, (i) => ({ step: 'measure', angle: i })) },
  {
    word: 'midplane',
    steps: (ids) => pair(ids, (i) => ({ step: 'construct', midplane: i })),
    isTelling: nearlyParallel,
  },
  {
    word: 'coaxiality',
    steps: (ids) => both(ids, (a, b) => ({ step: 'measure', coaxiality: a, to: b })),
    isTelling: (f) => !f.some(({ kind }) => kind === 'plane') && nearlyParallel(f),
  },
  { word: 'middle', steps: (ids) => pair(ids, (i) => ({ step: 'construct', midpoint: i })) },
  { word: 'line', steps: (ids) => pair(ids, (i) => ({ step: 'construct', through: i })) },
  { word: 'foot', steps: (ids) => both(ids, (a, b) => ({ step: 'construct', project: a, onto: b })) },
  {
    word: 'squareness',
    steps: (ids) => both(ids, (a, b) => ({ step: 'measure', perpendicularity: a, to: b })),
    isTelling: standSquare,
  },
  {
    word: 'parallelism',
    steps: (ids) => both(ids, (a, b) => ({ step: 'measure', parallelism: a, to: b })),
    isTelling: runAlong,
  },
  {
    word: 'coplanarity',
    steps: (ids) => pair(ids, (i) => ({ step: 'measure', coplanarity: i })),
    isTelling: nearlyParallel,
  },
  { word: 'symmetry', steps: (ids) => both(ids, (a, b) => ({ step: 'measure', symmetry: a, to: b })) },
  {
    word: 'symmetry',
    steps: (ids) => three(ids, ([a, b, to]) => ({ step: 'measure', symmetry: [a, b], to })),
    isTelling: nearlyParallel,
  },
  { word: 'bolt-circle', steps: (ids) => three(ids, (i) => ({ step: 'construct', boltCircle: i })) },
  { word: 'row', steps: (ids) => three(ids, (i) => ({ step: 'construct', row: i })) },
  { word: 'plane', steps: (ids) => three(ids, (i) => ({ step: 'construct', through: i })) },
  { word: 'center', steps: (ids) => (ids.length === 1 ? [{ step: 'construct', center: ids[0] }] : []) },
  { word: 'axis', steps: (ids) => (ids.length === 1 ? [{ step: 'construct', axis: ids[0] }] : []) },
  { word: 'centerline', steps: (ids) => (ids.length === 1 ? [{ step: 'construct', centerline: ids[0] }] : []) },
];

/** How plans are run and seen while relations are looked for. */
export interface Trial {
  run(plan: Plan): PlanRun;
  view(id: string, plan: Plan, run: PlanRun): StepView;
}

/** All that can be built or measured between rows of a plan, with what it gives; what fails, or says nothing of these, is left out. */
export function relationsOf(plan: Plan, ids: readonly string[], trial: Trial): Relation[] {
  const features = featuresOf(ids, trial.run(plan));
  const taken = new Set(plan.steps.map(({ id }) => id));
  const wanted = ways
    .filter((way) => features.length < ids.length || (way.isTelling?.(features) ?? true))
    .flatMap((way) => way.steps(ids).map((step) => ({ ...step, id: freeId(way.word, taken) }) as unknown as Step));
  const { plan: tried, steps } = tryAll(plan, wanted);
  if (steps.length === 0) return [];
  const run = trial.run(tried);
  return steps.flatMap((step) => {
    const view = trial.view(step.id, tried, run);
    return view.refusal || view.row === undefined ? [] : [{ step, words: view.row.what, view }];
  });
}

function featuresOf(ids: readonly string[], { results }: PlanRun): Feature[] {
  return ids.flatMap((id) => {
    const outcome = results.outcomes.find((o) => o.id === id);
    if (outcome?.kind === 'fit') return [outcome.fit.feature];
    return outcome?.kind === 'construct' ? [outcome.feature] : [];
  });
}

function freeId(word: string, taken: Set<string>): string {
  let number = 1;
  while (taken.has(`${word}-${number}`)) number++;
  taken.add(`${word}-${number}`);
  return `${word}-${number}`;
}

/** The plan with those of the steps its check has nothing against. */
function tryAll(plan: Plan, wanted: readonly Step[]): { plan: Plan; steps: readonly Step[] } {
  const refused = refusedIn({ ...plan, steps: [...plan.steps, ...wanted] });
  const steps = wanted.filter(({ id }) => !refused.has(id));
  return { plan: { ...plan, steps: [...plan.steps, ...steps] }, steps };
}

function refusedIn(plan: Plan): ReadonlySet<string> {
  try {
    checkPlan(plan);
    return new Set();
  } catch (error) {
    if (!(error instanceof PlanError)) throw error;
    return new Set(error.problems.map(({ step }) => step));
  }
}
