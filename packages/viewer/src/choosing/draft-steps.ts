import type { RegionStep } from '@fettle/geom';

type Grow = Extract<RegionStep, { grow: unknown }>['grow'];
type Brush = Extract<RegionStep, { brush: unknown }>['brush'];
type Outline = Extract<RegionStep, { outline: unknown }>['outline'];

/** One gesture: the points it chose, in the plan's words, and whether they are added or taken away. */
export type Gesture = { readonly takes: boolean } & (
  | { readonly grow: Grow }
  | { readonly brush: Brush }
  | { readonly outline: Outline }
);

/** Gestures that grow alike make one step with several seeds. */
function merged(gestures: readonly Gesture[]): Gesture[] {
  const found: Gesture[] = [];
  for (const gesture of gestures) {
    const last = found.findIndex(
      (other) =>
        'grow' in other &&
        'grow' in gesture &&
        other.takes === gesture.takes &&
        other.grow.turn === gesture.grow.turn &&
        other.grow.spread === gesture.grow.spread,
    );
    const other = found[last];
    if (other && 'grow' in other && 'grow' in gesture)
      found[last] = { ...other, grow: { ...other.grow, from: [...other.grow.from, ...gesture.grow.from] } };
    else found.push(gesture);
  }
  return found;
}

/**
 * The steps that choose what gestures chose together: all that add, less all that take away, whatever their order. The
 * last step is the whole; with one gesture it is the only one.
 *
 * @param freeId gives ids no step has, besides those given to it
 */
export function draftSteps(
  gestures: readonly Gesture[],
  freeId: (word: string, besides: readonly string[]) => string,
): readonly RegionStep[] {
  const parts = merged(gestures);
  const adding = parts.filter(({ takes }) => !takes);
  const taking = parts.filter(({ takes }) => takes);
  if (adding.length === 0) return [];
  const used: string[] = [];
  const idFor = (word: string): string => {
    const id = freeId(word, used);
    used.push(id);
    return id;
  };
  const stepOf = (gesture: Gesture, id: string): RegionStep => {
    const base = { step: 'region', id } as const;
    if ('grow' in gesture) return { ...base, grow: gesture.grow };
    return 'brush' in gesture ? { ...base, brush: gesture.brush } : { ...base, outline: gesture.outline };
  };
  if (adding.length === 1 && taking.length === 0) return [stepOf(adding[0]!, idFor('region'))];
  const added = adding.map((gesture) => stepOf(gesture, idFor('patch')));
  const taken = taking.map((gesture) => stepOf(gesture, idFor('patch')));
  const without = taken.length > 0 ? { without: taken.map(({ id }) => id) } : {};
  const whole: RegionStep =
    added.length > 1
      ? { step: 'region', id: idFor('region'), join: added.map(({ id }) => id), ...without }
      : { step: 'region', id: idFor('region'), of: added[0]!.id, ...without };
  return [...added, ...taken, whole];
}

/** A seed as the plan keeps it: a micrometer is finer than any scan. */
export const rounded = ([x, y, z]: readonly [number, number, number]): [number, number, number] => {
  const round = (v: number): number => Math.round(v * 1000) / 1000;
  return [round(x), round(y), round(z)];
};
