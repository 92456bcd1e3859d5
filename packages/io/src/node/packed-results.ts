import { type Frame, frameOf, type Results, type StepOutcome } from '@fettle/geom';

/** A frame as data: its two functions do not pass between threads, all else it carries does. */
type PackedFrame = Omit<Frame, 'toFrame' | 'toScan'>;

type FrameOutcome = Extract<StepOutcome, { kind: 'frame' }>;
type PackedOutcome =
  | Exclude<StepOutcome, { kind: 'frame' }>
  | (Omit<FrameOutcome, 'frame'> & { readonly frame: PackedFrame });

/** Results that can pass between threads. */
export type PackedResults = Omit<Results, 'frame' | 'outcomes'> & {
  readonly frame?: PackedFrame;
  readonly outcomes: readonly PackedOutcome[];
};

/** Results ready to pass between threads; without `outcomes`, their outcomes stay behind. */
export function packResults({ frame, outcomes, ...results }: Results, withOutcomes: boolean): PackedResults {
  const pack = once(({ toFrame: _, toScan: __, ...data }: Frame): PackedFrame => data);
  return {
    ...results,
    ...(frame && { frame: pack(frame) }),
    outcomes: withOutcomes
      ? outcomes.map((outcome) => (outcome.kind === 'frame' ? { ...outcome, frame: pack(outcome.frame) } : outcome))
      : [],
  };
}

/** What {@link packResults} packed, as it was. */
export function unpackResults({ frame, outcomes, ...results }: PackedResults): Results {
  const unpack = once(
    (packed: PackedFrame): Frame => Object.freeze({ ...packed, ...frameOf(packed.origin, packed.x, packed.y) }),
  );
  return {
    ...results,
    ...(frame && { frame: unpack(frame) }),
    outcomes: outcomes.map((outcome) =>
      outcome.kind === 'frame' ? { ...outcome, frame: unpack(outcome.frame) } : outcome,
    ),
  };
}

/** The same object for the same one: the last frame of a plan is one of its outcomes. */
function once<A extends object, B>(make: (a: A) => B): (a: A) => B {
  const made = new Map<A, B>();
  return (a) => {
    const before = made.get(a);
    if (before !== undefined) return before;
    const b = make(a);
    made.set(a, b);
    return b;
  };
}
