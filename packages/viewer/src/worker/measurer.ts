import {
  FettleError,
  type Found,
  growthFrom,
  type Plan,
  type PlanRun,
  type PlanRunner,
  planRunner,
  pointSpacing,
  pointTriangles,
  preparedScan,
  profileOf,
  type RegionStep,
  regionArea,
  regionSpread,
  type ShapeSuggestion,
  type Step,
  spatialIndex,
  suggestShape,
  type Vec3,
  vec3,
} from '@fettle/geom';
import { type ReadScan, readScan } from '@fettle/io';
import { deliver } from './deliveries.js';
import { givenPoints } from './given-points.js';
import { KnownProfiles } from './known-profiles.js';
import { Latest, nextTurn } from './latest.js';
import { openedScan, sha256Of } from './opened-scan.js';
import { finderInPlace, type ProfileFinder } from './profile-finder.js';
import { profileView } from './profile-view.js';
import { seldom } from './progress.js';
import type {
  ChoiceView,
  Glimpse,
  Measurer,
  OpenedScan,
  OpenOptions,
  Pick,
  PointsView,
  ProfileView,
  Ray,
  Relation,
  RunView,
  StepView,
  Suggested,
} from './protocol.js';
import { refusalOf } from './refusal.js';
import { relationsOf } from './relations.js';
import { isOfSection, StepViews } from './step-view.js';

/** A scan that is open, and what was made of it. */
interface Open {
  readonly scan: ReadScan;
  readonly sha256: string | undefined;
  readonly runner: PlanRunner;
  readonly views: StepViews;
  /** What was suggested for the points of a region. */
  readonly suggestions: WeakMap<Uint32Array, ShapeSuggestion>;
  readonly profiles: KnownProfiles;
  /** The plan that was run last. */
  plan: Plan;
  run: PlanRun | undefined;
}

const degrees = Math.PI / 180;

/** Triangles or points a glimpse goes on over before it looks whether it is still wanted: some milliseconds. */
const SLICE = 1000;

const emptyPlan: Plan = { version: 1, title: 'Untitled', steps: [] };

/** Where the page's copy of the demo is, beside the page. */
const PUMP = 'pump.ply.gz';

/**
 * What the page asks, answered. Runs in a worker, or in the same thread where there is none.
 *
 * @param finder of profiles that are drawn, the latest one counting
 * @param rowFinder of those that have a row on the job sheet
 */
export function createMeasurer(
  base: string,
  finder: ProfileFinder = finderInPlace(),
  rowFinder: ProfileFinder = finderInPlace(),
): Measurer {
  let open: Open | undefined;
  let opening: AbortController | undefined;
  const choices = new Latest();
  const trials = { draft: new Latest(), cut: new Latest(), stretch: new Latest(), frame: new Latest() };
  const profiles = new Latest();
  const glimpses = new Latest();

  const theOpen = (): Open => {
    if (open === undefined) throw new FettleError('no-scan', 'No scan is open. Open one first.');
    return open;
  };

  async function read(
    source: Blob,
    options: OpenOptions,
    onProgress: (bytes: number, total?: number) => void,
    signal: AbortSignal,
  ): Promise<OpenedScan> {
    const scan = await readScan(source, {
      ...options,
      size: source.size,
      signal,
      onProgress: seldom(onProgress),
    });
    const sha256 = await sha256Of(source);
    signal.throwIfAborted();
    const view = await openedScan(scan, sha256);
    signal.throwIfAborted();
    open = {
      scan,
      sha256,
      runner: planRunner(scan),
      views: new StepViews(scan),
      suggestions: new WeakMap(),
      profiles: new KnownProfiles(),
      plan: emptyPlan,
      run: undefined,
    };
    // Where it fails, as for want of memory, the first question that needs an index says so.
    index(scan).catch(() => undefined);
    return view;
  }

  /** Makes, before anybody points at the scan, what pointing needs. */
  async function index(scan: ReadScan): Promise<void> {
    for (const make of [spatialIndex, pointSpacing, pointTriangles]) {
      await nextTurn();
      if (open?.scan !== scan) return;
      make(scan);
    }
  }

  /** Runs work that {@link Measurer.cancelOpening} stops; an earlier one is stopped by it. */
  async function opened(work: (signal: AbortSignal) => Promise<OpenedScan>): Promise<OpenedScan> {
    opening?.abort(new FettleError('aborted', 'Another scan was opened.'));
    const controller = new AbortController();
    opening = controller;
    try {
      return await work(controller.signal);
    } finally {
      if (opening === controller) opening = undefined;
    }
  }

  const runOf = (one: Open, plan: Plan): PlanRun =>
    one.runner.run(plan, { profileOf: (...asked) => one.profiles.get(...asked) ?? profileOf(...asked) });

  /** The same; profiles that are not known yet are found beside, and others are answered meanwhile. */
  async function runBeside(one: Open, plan: Plan): Promise<PlanRun> {
    let isBroken = false;
    for (;;) {
      const wanted: Parameters<typeof profileOf>[] = [];
      const run = one.runner.run(plan, {
        profileOf: (...asked) => {
          const known = one.profiles.get(...asked);
          if (known) return known;
          if (isBroken) return profileOf(...asked);
          wanted.push(asked);
          throw new FettleError('aborted', 'The profile is being found.');
        },
      });
      if (wanted.length === 0) return run;
      // What it fails with is what the step will fail with.
      for (const [section, index, options = {}] of wanted)
        await one.profiles.find(rowFinder, section, index, options).catch((error: unknown) => {
          if (!(error instanceof FettleError) || error.code === 'aborted') throw error;
          if (error.code === 'unexpected') isBroken = true;
        });
    }
  }

  /** The last plan with further steps, which take the place of those of the same id. */
  function extended({ plan }: Open, steps: readonly Step[]): Plan {
    const isNew = new Set(steps.map(({ id }) => id));
    return { ...plan, steps: [...plan.steps.filter(({ id }) => !isNew.has(id)), ...steps] };
  }

  /** The points of the region the last of the steps makes. */
  function region(
    one: Open,
    steps: readonly RegionStep[],
  ): { plan: Plan; run: PlanRun; select: Uint32Array; id: string } {
    const plan = extended(one, steps);
    const { id } = steps.at(-1)!;
    const run = runOf(one, plan);
    const refused = run.refusals.find((refusal) => refusal.id === id);
    if (refused) throw refused.error;
    const outcome = run.results.outcomes.find((o) => o.id === id);
    if (outcome?.kind !== 'region') throw new TypeError(`${id} is no region`);
    return { plan, run, select: outcome.select, id };
  }

  const measurer: Measurer = {
    open: (file, options, onProgress) => opened((signal) => read(file, options, onProgress, signal)),

    openPump: (onProgress) =>
      opened(async (signal) => {
        const file = await fetched(new URL(PUMP, base), onProgress, signal);
        return await read(file, { name: 'pump-scan.ply', units: 'mm' }, () => undefined, signal);
      }),

    cancelOpening: async () => opening?.abort(new FettleError('aborted', 'Opening was called off.')),

    async run(plan): Promise<RunView> {
      const one = theOpen();
      if (plan.steps.length === 0) {
        one.plan = plan;
        one.run = undefined;
        return { steps: [], passed: true, warnings: [] };
      }
      const run = await runBeside(one, plan).catch((error: unknown) => {
        one.plan = plan;
        one.run = undefined;
        throw error;
      });
      one.plan = plan;
      one.run = run;
      return one.views.ofRun(plan, run);
    },

    async points(id): Promise<PointsView> {
      const one = theOpen();
      const { outcomes } = one.run?.results ?? { outcomes: [] };
      const outcome = outcomes.find((o) => o.id === id);
      if (outcome?.kind === 'region') return { points: givenPoints(outcomes, id, outcome.select) };
      if (outcome?.kind !== 'fit' || isOfSection(id, one.run!.results)) return { points: new Uint32Array() };
      const { used, rejected, residuals } = outcome.fit;
      return {
        points: givenPoints(outcomes, id, used),
        residuals: Float32Array.from(residuals),
        rejected: givenPoints(outcomes, id, rejected),
      };
    },

    async pick(ray: Ray): Promise<Pick | undefined> {
      const { scan } = theOpen();
      const found = spatialIndex(scan).ray(ray.from, ray.direction, ray.reach);
      return found && pickAt(scan, found, ray);
    },

    async glimpse(ray, limits, within = Infinity): Promise<Glimpse | undefined> {
      const { isLatest } = glimpses.ask();
      await nextTurn();
      const begun = performance.now();
      const { scan } = theOpen();
      const found = spatialIndex(scan).ray(ray.from, ray.direction, ray.reach);
      if (found === undefined) return undefined;
      const pick = pickAt(scan, found, ray);
      const growth = growthFrom(scan, found.element, {
        turnStep: limits.turn * degrees,
        turnTotal: limits.spread * degrees,
      });
      let isDone = false;
      for (;;) {
        if (!isLatest()) return { ...pick, points: new Uint32Array(), moot: true };
        isDone = growth.go(SLICE);
        if (isDone || performance.now() - begun > within) break;
        await nextTurn();
      }
      return { ...pick, points: growth.points(), ...(!isDone && { isPart: true as const }) };
    },

    async choose(steps): Promise<ChoiceView> {
      const { isLatest } = choices.ask();
      await nextTurn();
      if (!isLatest()) return { points: new Uint32Array(), count: 0, spread: 0, moot: true };
      const one = theOpen();
      const { run, select, id } = region(one, steps);
      const { outcomes } = run.results;
      const scan = preparedScan(outcomes, one.scan, id);
      const area = regionArea(scan, select);
      return {
        points: givenPoints(outcomes, id, select),
        count: select.length,
        ...(area !== undefined && { area }),
        spread: regionSpread(scan, select),
      };
    },

    async suggest(steps): Promise<Suggested> {
      const one = theOpen();
      const { run, select, id } = region(one, steps);
      const before = one.suggestions.get(select);
      if (before) return { suggestion: before };
      const suggestion = suggestShape({ ...preparedScan(run.results.outcomes, one.scan, id), select });
      one.suggestions.set(select, suggestion);
      return { suggestion };
    },

    async tryStep(plan, steps, by): Promise<StepView> {
      const one = theOpen();
      const { id, step } = steps.at(-1)!;
      const { isLatest } = trials[by].ask();
      await nextTurn();
      if (!isLatest()) return { id, step, moot: true };
      const tried = { ...plan, steps: [...plan.steps, ...steps] };
      return one.views.of(id, tried, runOf(one, tried));
    },

    async profile(plan, section, tolerance): Promise<ProfileView> {
      const one = theOpen();
      const { isLatest } = profiles.ask();
      finder.stop();
      await nextTurn();
      if (!isLatest()) return { pieces: [], corners: [], moot: true };
      const run = runOf(one, plan);
      const refused = run.refusals.find(({ id }) => id === section);
      if (refused) throw refused.error;
      const outcome = run.results.outcomes.find(({ id }) => id === section);
      if (outcome?.kind !== 'section')
        throw new FettleError('no-section', `${section} is no section of the plan. Cut one first.`);
      return await profileView(outcome, tolerance, (...asked) => one.profiles.find(finder, ...asked), isLatest);
    },

    async relations(plan, ids): Promise<readonly Relation[]> {
      const one = theOpen();
      return relationsOf(plan, ids, {
        run: (tried) => runOf(one, tried),
        view: (id, tried, run) => one.views.of(id, tried, run),
      });
    },

    async deliver(plan, what, onProgress) {
      const one = theOpen();
      const { scan, sha256 } = one;
      const { bytes, warnings } = scan.source;
      const source = { file: scan.name, bytes, ...(sha256 !== undefined && { sha256 }) };
      return await deliver(plan, what, (asked) => runOf(one, asked), { scan, warnings, source }, onProgress);
    },
  };
  return refusing(measurer);
}

/** The same, but what is thrown is a refusal: plain data, which passes between threads with its code. */
function refusing(measurer: Measurer): Measurer {
  const wrapped = Object.entries(measurer).map(([name, act]) => [
    name,
    async (...given: unknown[]) => {
      try {
        return await (act as (...given: unknown[]) => Promise<unknown>)(...given);
      } catch (error) {
        throw refusalOf(error);
      }
    },
  ]);
  return Object.fromEntries(wrapped) as Measurer;
}

function pickAt(scan: ReadScan, { position, element }: Found, { direction }: Ray): Pick {
  return { position, normal: toward(normalAt(scan, element), vec3.normalize(direction)) };
}

/** The direction turned so that it points against the ray. */
const toward = (normal: Vec3, ray: Vec3): Vec3 => (vec3.dot(normal, ray) > 0 ? vec3.negate(normal) : normal);

/** Of a triangle, or of a point of a cloud: zero where nothing tells. */
function normalAt({ positions, triangles, normals }: ReadScan, element: number): Vec3 {
  const at = (p: number, of: ArrayLike<number>): Vec3 => [of[3 * p]!, of[3 * p + 1]!, of[3 * p + 2]!];
  if (triangles === undefined) return normals ? at(element, normals) : [0, 0, 0];
  const [a, b, c] = [0, 1, 2].map((k) => at(triangles[3 * element + k]!, positions)) as [Vec3, Vec3, Vec3];
  const across = vec3.cross(vec3.subtract(b, a), vec3.subtract(c, a));
  const size = vec3.length(across);
  return size > 0 ? vec3.scale(across, 1 / size) : [0, 0, 0];
}

async function fetched(url: URL, onProgress: (share: number) => void, signal: AbortSignal): Promise<Blob> {
  const response = await fetch(url, { signal }).catch((error: unknown) => {
    signal.throwIfAborted();
    throw new FettleError('demo-missing', 'The demo pump could not be loaded. Is the page still connected?', {
      cause: error,
    });
  });
  if (!response.ok || response.body === null)
    throw new FettleError('demo-missing', `The demo pump could not be loaded: the server answers ${response.status}.`);
  const total = Number(response.headers.get('content-length'));
  const pieces: Uint8Array<ArrayBuffer>[] = [];
  let bytes = 0;
  const tell = seldom(onProgress);
  for await (const piece of response.body) {
    pieces.push(piece as Uint8Array<ArrayBuffer>);
    bytes += piece.length;
    if (total > 0) tell(Math.min(1, bytes / total));
  }
  return new Blob(pieces);
}
