import type { FitStep, SheetRow, Step, Vec3 } from '@fettle/geom';
import { vec3 } from '@fettle/geom';
import { type Signal, signal } from '@preact/signals';
import { rounded } from '../choosing/draft-steps.js';
import type { Session } from '../session/session.js';
import type { PieceView, Relation, StepView } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import { frameInUse } from './cutting.js';

/** What can be fitted to a stretch of a section. */
export const STRETCH_SHAPES = ['line', 'circle', 'slot', 'ellipse'] as const;
export type StretchShape = (typeof STRETCH_SHAPES)[number];

/** A stretch as it was picked: between two places, or all inside a box about some. Scan axes, mm. */
export type PickedStretch =
  | { readonly from: Vec3; readonly to: Vec3; readonly isLong?: boolean }
  | { readonly about: readonly Vec3[]; readonly margin: number };

/** A fit tried on a stretch, and what it gives. */
export interface Trial {
  readonly step: FitStep;
  readonly view?: StepView;
}

/** A stretch picked, and the shapes tried on it. */
export interface Stretch {
  readonly picked: PickedStretch;
  readonly shape: StretchShape;
  readonly trials: Readonly<Partial<Record<StretchShape, Trial>>>;
}

/** What was picked on a section and is not in the plan yet: one stretch, or two and what can be measured between them. */
export interface Stretching {
  readonly section: string;
  readonly stretches: readonly [Stretch] | readonly [Stretch, Stretch];
  /** Where the last pick was, scan axes, mm. */
  readonly at: Vec3;
  /** Of two: once it is known. */
  readonly relations?: readonly Relation[];
  /** Which of them will be kept with the fits; none: the fits alone. */
  readonly chosen?: number;
}

/** About a whole outline, mm: it is to hold all of it and nothing beside. */
export const MARGIN = 0.3;

/** Between the ends of a piece that goes all around, as a share of its length. */
const SEAM = 0.01;

/** A line holds a stretch as well as a circle does if its rms is no more than this many times larger. */
const AS_GOOD = 1.15;
/** And if it leaves out no more than a tenth of the points the circle holds. */
const AS_MANY = 0.9;

const known = new WeakMap<Session, Signal<Stretching | undefined>>();

/** What is being picked of a session's section. */
export function stretchingOf(session: Session): Signal<Stretching | undefined> {
  const before = known.get(session);
  if (before) return before;
  const made = signal<Stretching | undefined>(undefined);
  known.set(session, made);
  return made;
}

/** Where the plan's stretch of a piece of a profile begins and ends; of a full circle, a box about it. */
export function pickedPiece(piece: PieceView): PickedStretch {
  const { isWhole, line, length, first, last, isLongWay } = piece;
  // Where an outline comes back to where it began without closing, its ends tell nothing.
  const isRound = isWhole || vec3.distance(first, last) < SEAM * length;
  if (!isRound) return { from: first, to: last, ...(isLongWay && { isLong: true }) };
  const places: Vec3[] = [];
  for (let i = 0; i < line.length; i += 3) places.push([line[i]!, line[i + 1]!, line[i + 2]!]);
  return { about: places, margin: MARGIN };
}

export interface PickOptions {
  readonly section: string;
  readonly at: Vec3;
  /** What is to be fitted; left out, line and circle are tried and the better one is taken. */
  readonly shape?: StretchShape;
  /** A second stretch, to measure from the first. */
  readonly isSecond?: boolean;
}

/** Picks a stretch and fits it, beside the plan. */
export async function pickStretch(session: Session, picked: PickedStretch, options: PickOptions): Promise<void> {
  const { section, at, shape, isSecond } = options;
  const stretching = stretchingOf(session);
  const before = stretching.peek();
  const first = isSecond && before?.section === section ? before.stretches[0] : undefined;
  const stretch: Stretch = { picked, shape: shape ?? 'line', trials: {} };
  stretching.value = { section, at, stretches: first ? [first, stretch] : [stretch] };
  await refusing(session, async () => {
    for (const tried of shape ? [shape] : (['line', 'circle'] as const)) if (!(await tryShape(session, tried))) return;
    // A shape that was asked for meanwhile stays.
    if (shape === undefined && stretching.peek()?.stretches.at(-1)?.shape === stretch.shape) chooseShape(session);
    await relate(session);
  });
}

/** Fits another shape to the stretch picked last. */
export async function changeShape(session: Session, shape: StretchShape): Promise<void> {
  const stretching = stretchingOf(session);
  const now = stretching.peek();
  if (!now) return;
  const { relations: _, chosen: __, ...kept } = now;
  stretching.value = { ...kept, stretches: withLast(now.stretches, (last) => ({ ...last, shape })) };
  await refusing(session, async () => {
    if (now.stretches.at(-1)!.trials[shape] || (await tryShape(session, shape))) await relate(session);
  });
}

export function dropStretch(session: Session): void {
  stretchingOf(session).value = undefined;
}

/** Which of the relations between two stretches will be kept; undefined: none. */
export function chooseRelation(session: Session, chosen: number | undefined): void {
  const stretching = stretchingOf(session);
  const now = stretching.peek();
  if (!now) return;
  const { chosen: _, ...rest } = now;
  stretching.value = { ...rest, ...(chosen !== undefined && { chosen }) };
}

/** The fit that will be kept of a stretch. */
export const trialOf = ({ trials, shape }: Stretch): Trial | undefined => trials[shape];

/** Steps that {@link keepStretch} adds; none while something is missing or refused. */
export function stepsKept({ stretches, relations, chosen }: Stretching): readonly Step[] {
  const fits = stretches.map(trialOf);
  if (!fits.every((fit) => fit?.view && !fit.view.refusal)) return [];
  const relation = chosen === undefined ? undefined : relations?.[chosen];
  return [...fits.map((fit) => fit!.step), ...(relation ? [relation.step] : [])];
}

/** Puts the fits, and what was chosen to be measured between them, into the plan. */
export async function keepStretch(session: Session): Promise<boolean> {
  const stretching = stretchingOf(session);
  const now = stretching.peek();
  const steps = now ? stepsKept(now) : [];
  if (steps.length === 0) return false;
  const kept = await session.append(steps);
  if (kept) {
    stretching.value = undefined;
    session.selected.value = [steps.at(-1)!.id];
  }
  return kept;
}

type Stretches = Stretching['stretches'];
const withLast = (stretches: Stretches, change: (last: Stretch) => Stretch): Stretches =>
  stretches.length === 1 ? [change(stretches[0])] : [stretches[0], change(stretches[1])];

/** Tries a shape on the stretch picked last. @returns whether it is still the last */
async function tryShape(session: Session, shape: StretchShape): Promise<boolean> {
  const stretching = stretchingOf(session);
  const { section, stretches } = stretching.peek()!;
  const { picked } = stretches.at(-1)!;
  const taken = stretches.length === 2 ? [trialOf(stretches[0])!.step.id] : [];
  const step = stepFor(session, { section, picked, shape, taken });
  for (;;) {
    const view = await session.measurer.tryStep(session.plan.peek(), [step], 'stretch');
    const now = stretching.peek();
    if (now?.stretches.at(-1)?.picked !== picked) return false;
    // Another shape was asked for in between.
    if (view.moot) continue;
    const trials = { ...now.stretches.at(-1)!.trials, [shape]: { step, view } };
    stretching.value = { ...now, stretches: withLast(now.stretches, (last) => ({ ...last, trials })) };
    return true;
  }
}

/** Takes the line where a circle holds the stretch no better. */
function chooseShape(session: Session): void {
  const stretching = stretchingOf(session);
  const now = stretching.peek()!;
  const { line, circle } = now.stretches.at(-1)!.trials;
  const [byLine, byCircle] = [line?.view?.row, circle?.view?.row];
  const holds = ({ rms = 0, used = 0 }: SheetRow, other: SheetRow): boolean =>
    rms <= AS_GOOD * (other.rms ?? 0) && used >= AS_MANY * (other.used ?? 0);
  const isLine = byCircle === undefined || (byLine !== undefined && holds(byLine, byCircle));
  stretching.value = {
    ...now,
    stretches: withLast(now.stretches, (last) => ({ ...last, shape: isLine ? 'line' : 'circle' })),
  };
}

/** What can be measured between two stretches. */
async function relate(session: Session): Promise<void> {
  const stretching = stretchingOf(session);
  const now = stretching.peek();
  if (now?.stretches.length !== 2) return;
  const fits = stepsKept(now);
  if (fits.length === 0) return;
  const plan = session.plan.peek();
  const ids = fits.map(({ id }) => id);
  const found = await session.measurer.relations({ ...plan, steps: [...plan.steps, ...fits] }, ids);
  if (stretching.peek()?.stretches !== now.stretches) return;
  // Round shapes of one section all face the same way.
  const turn = now.stretches.every(({ shape }) => shape === 'line');
  const measured = found.filter(({ step }) => 'distance' in step || (turn && 'angle' in step));
  // Parallel lines are dimensioned by how far they are apart, others by their angle.
  const isAcross = measured.some(({ step, view }) => 'angle' in step && Math.abs(view.row?.values[0]?.value ?? 0) > 5);
  const wanted = measured.findIndex(({ step }) => (isAcross ? 'angle' in step : 'distance' in step));
  stretching.value = { ...now, relations: measured, ...(measured.length > 0 && { chosen: Math.max(0, wanted) }) };
}

interface StretchedFit {
  readonly section: string;
  readonly picked: PickedStretch;
  readonly shape: StretchShape;
  /** Ids that are spoken for. */
  readonly taken: readonly string[];
}

function stepFor(session: Session, { section, picked, shape, taken }: StretchedFit): FitStep {
  const { id: frame, origin, axes } = frameInUse(session);
  const inFrame = (place: Vec3): Vec3 => {
    const d = vec3.subtract(place, origin);
    return rounded([vec3.dot(d, axes.x), vec3.dot(d, axes.y), vec3.dot(d, axes.z)]);
  };
  return {
    step: 'fit',
    id: session.freeId(shape, taken),
    shape,
    to: section,
    stretch:
      'from' in picked
        ? { from: inFrame(picked.from), to: inFrame(picked.to), ...(picked.isLong && { long: true }) }
        : { box: boxAbout(picked.about.map(inFrame), picked.margin) },
    ...(frame !== undefined && { in: frame }),
    reject: 3.5,
  };
}

function boxAbout(places: readonly Vec3[], margin: number): { readonly min: Vec3; readonly max: Vec3 } {
  const end = (pick: (...values: number[]) => number, by: number): Vec3 =>
    rounded([0, 1, 2].map((k) => pick(...places.map((p) => p[k]!)) + by) as unknown as Vec3);
  return { min: end(Math.min, -margin), max: end(Math.max, margin) };
}

async function refusing(session: Session, work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    session.say({ tone: 'refusal', ...refusalOf(error) });
  }
}
