import { acuteAngle, directionOf, type Feature, type Plan, type Step, vec3 } from '@fettle/geom';

/** A feature a datum frame may rest on. */
export interface Datum {
  readonly id: string;
  readonly feature: Feature;
}

export type SignedAxis = 'x' | 'y' | 'z' | '-x' | '-y' | '-z';

/** A datum frame as it is being chosen. Fields that nothing is chosen for are absent. */
export interface FrameChoice {
  /** From a plane, a line and a point, or from three planes. */
  readonly by: 'parts' | 'planes';
  readonly plane?: string;
  /** A line, an axis, or a second plane. */
  readonly line?: string;
  /** A point, or the third plane where all three meet. */
  readonly point?: string;
  /** Set where `point` is a plane and the origin is to be where it meets the others. */
  readonly meets?: true;
  /** Which axes plane and line give, with sign. */
  readonly plus: { readonly plane: SignedAxis; readonly line: SignedAxis };
}

/** Nearer to parallel than this no corner is offered, radians: 10°. */
const APART = (10 * Math.PI) / 180;

const kindOf = ({ feature }: Datum): Feature['kind'] => feature.kind;
const isPlane = (datum: Datum): boolean => kindOf(datum) === 'plane';
const isLine = (datum: Datum): boolean => ['line', 'cylinder', 'cone'].includes(kindOf(datum));
/** A center, or an axis that pierces the plane. */
const isPoint = (datum: Datum): boolean =>
  ['point', 'circle', 'sphere', 'slot', 'ellipse', 'cone', 'line', 'cylinder'].includes(kindOf(datum));

type Directed = Parameters<typeof directionOf>[0];
const direction = ({ feature }: Datum) => directionOf(feature as Directed);

/** Angle between two planes, or two lines, 0 to π/2. */
const between = (a: Datum, b: Datum): number => acuteAngle(direction(a), direction(b));

/** Whether three planes meet in a point worth having. */
function makeCorner(a: Datum, b: Datum, c: Datum): boolean {
  const [u, v, w] = [direction(a), direction(b), direction(c)];
  return Math.abs(vec3.dot(u, vec3.cross(v, w))) > Math.sin(APART) ** 2;
}

/** Datums a frame may rest on: planes, lines and points of the plan, up to a step, in its order. */
export function datumsOf(
  plan: Plan,
  features: ReadonlyMap<string, Feature>,
  before: string | undefined,
): readonly Datum[] {
  const end = before === undefined ? plan.steps.length : plan.steps.findIndex(({ id }) => id === before);
  return plan.steps.slice(0, end).flatMap(({ id }) => {
    const feature = features.get(id);
    return feature === undefined ? [] : [{ id, feature }];
  });
}

/** What the three parts can be, given what is chosen so far. */
export function frameOffers(datums: readonly Datum[], choice: FrameChoice) {
  const planes = datums.filter(isPlane);
  const plane = planes.find(({ id }) => id === choice.plane);
  const apart = planes.filter((other) => plane && other !== plane && between(plane, other) > APART);
  const axes = datums.filter((datum) => isLine(datum) && plane && between(plane, datum) > APART);
  const along = axes.length > 0 ? datums.filter((d) => isLine(d) && plane && between(plane, d) < Math.PI / 2) : [];
  const lines = choice.by === 'planes' ? apart : [...along, ...apart];
  const line = lines.find(({ id }) => id === choice.line);
  const corners =
    plane && line
      ? apart.filter(
          (third) =>
            third !== line &&
            (isPlane(line) ? makeCorner(plane, line, third) : between(line, third) < Math.PI / 2 - APART),
        )
      : [];
  return { planes, lines, corners, points: choice.by === 'planes' ? [] : datums.filter(isPoint) };
}

/** Whether a step names another anywhere in it. */
function namesStep(part: unknown, id: string): boolean {
  if (typeof part !== 'object' || part === null) return part === id;
  return Object.values(part).some((inner) => namesStep(inner, id));
}

/**
 * A frame by sense: what is selected first, else the first of each in the plan. Three planes where three meet; else a plane, a line that
 * does not stand square to it, and a point, one that rests on both sooner than another.
 */
export function senseFrame(plan: Plan, datums: readonly Datum[], selected: readonly string[]): FrameChoice {
  const order = [
    ...selected.flatMap((id) => datums.filter((datum) => datum.id === id)),
    ...datums.filter(({ id }) => !selected.includes(id)),
  ];
  const plus = { plane: 'z', line: 'x' } as const;
  const plane = order.find(isPlane);
  if (plane === undefined) return { by: 'parts', plus };
  const base = { plane: plane.id, plus };
  const wantsParts = selected.some((id) => datums.some((datum) => datum.id === id && !isPlane(datum)));
  const second = order.find((other) => isPlane(other) && other !== plane && between(plane, other) > APART);
  const third = second && order.find((o) => isPlane(o) && o !== plane && o !== second && makeCorner(plane, second, o));
  if (second && third && !wantsParts) return { by: 'planes', ...base, line: second.id, point: third.id };
  // A line along the plane: its direction and the plane's normal are square.
  const line = order.find((datum) => isLine(datum) && between(plane, datum) > APART) ?? second;
  if (line === undefined) return { by: 'parts', ...base };
  const points = order.filter(
    (datum) => isPoint(datum) && datum !== line && !(isLine(datum) && between(plane, datum) > APART),
  );
  const point =
    points.find(({ id }) =>
      namesStep(
        plan.steps.find((step) => step.id === id),
        line.id,
      ),
    ) ?? points[0];
  if (point) return { by: 'parts', ...base, line: line.id, point: point.id };
  if (third) return { by: 'parts', ...base, line: line.id, point: third.id, meets: true };
  return { by: 'parts', ...base, line: line.id };
}

/** What is missing of a frame, in words; undefined for a whole one. */
export function missingWords({ by, plane, line, point }: FrameChoice): string | undefined {
  if (by === 'planes')
    return plane && line && point ? undefined : 'Three planes are needed that meet in a point: fit one more.';
  if (!plane) return 'A plane is needed first: the face all else is measured from. Grow over it and keep the plane.';
  if (!line) return 'A direction is needed: a second plane, an edge or an axis. Grow over one more face and keep it.';
  return point ? undefined : 'A point is needed: a hole, a bore, or a third plane to meet the others.';
}

/**
 * The steps that make a frame: the frame itself, and before it the corner where planes meet if that is its origin. None while something
 * is missing.
 */
export function frameSteps(
  choice: FrameChoice,
  datums: readonly Datum[],
  id: string,
  freeId: (word: string) => string,
): readonly Step[] {
  const { by, plane, line, point, meets, plus } = choice;
  if (plane === undefined || line === undefined || point === undefined) return [];
  const signs = plus.plane === 'z' && plus.line === 'x' ? {} : { plus };
  if (by === 'planes') return [{ step: 'frame', id, planes: [plane, line, point], ...signs }];
  if (!meets) return [{ step: 'frame', id, plane, line, origin: point, ...signs }];
  const second = datums.find((datum) => datum.id === line);
  const met: readonly string[] = second && isPlane(second) ? [plane, line, point] : [line, point];
  const corner = { step: 'construct', id: freeId('corner'), intersect: [...met] } as unknown as Step;
  return [corner, { step: 'frame', id, plane, line, origin: corner.id, ...signs }];
}

/** The choice a frame in the plan was made from. */
export function choiceOf(step: Extract<Step, { step: 'frame' }>): FrameChoice {
  const plus = step.plus ?? ({ plane: 'z', line: 'x' } as const);
  if ('planes' in step) {
    const [plane, line, point] = step.planes;
    return { by: 'planes', plane, line, point, plus };
  }
  return { by: 'parts', plane: step.plane, line: step.line, point: step.origin, plus };
}

/** The planes a frame rests on, which ought to be square to each other. */
export function planesOf({ plane, line, point }: FrameChoice, datums: readonly Datum[]): readonly string[] {
  return [plane, line, point].filter((id): id is string => datums.some((datum) => datum.id === id && isPlane(datum)));
}

/** The plan with other steps in the place of one. */
export const withStepsFor = (plan: Plan, id: string, steps: readonly Step[]): Plan => ({
  ...plan,
  steps: plan.steps.flatMap((step) => (step.id === id ? steps : [step])),
});

const opposite = (axis: SignedAxis): SignedAxis =>
  axis.startsWith('-') ? (axis.slice(1) as SignedAxis) : `-${axis as 'x'}`;
export const letterOf = (axis: SignedAxis): 'x' | 'y' | 'z' => axis.at(-1) as 'x' | 'y' | 'z';

/** The frame turned about so that one of its axes points the other way; of the third, the line's axis turns with it. */
export function flipped(choice: FrameChoice, axis: 'x' | 'y' | 'z'): FrameChoice {
  const { plane, line } = choice.plus;
  if (letterOf(plane) === axis) return { ...choice, plus: { plane: opposite(plane), line } };
  // The third axis follows from the other two: it turns with the line's.
  return { ...choice, plus: { plane, line: opposite(line) } };
}

/** The choice with other axes for plane and line; a letter taken twice goes to the other's place. */
export function withAxes(choice: FrameChoice, part: 'plane' | 'line', letter: 'x' | 'y' | 'z'): FrameChoice {
  const other = part === 'plane' ? 'line' : 'plane';
  const before = choice.plus[part];
  const signOf = (axis: SignedAxis): string => (axis.startsWith('-') ? '-' : '');
  const own = `${signOf(before)}${letter}` as SignedAxis;
  const rest = choice.plus[other];
  const moved = letterOf(rest) === letter ? (`${signOf(rest)}${letterOf(before)}` as SignedAxis) : rest;
  return { ...choice, plus: part === 'plane' ? { plane: own, line: moved } : { plane: moved, line: own } };
}
