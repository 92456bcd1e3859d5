import { type Frame, frameOf, type Results, type StepOutcome } from '@fettle/geom';

/** A frame as data: its two functions do not pass between threads, all else it carries does. */
type Packed<F extends Frame> = Omit<F, 'toFrame' | 'toScan'>;

type FrameOutcome = Extract<StepOutcome, { kind: 'frame' }>;
type PackedOutcome =
  | Exclude<StepOutcome, { kind: 'frame' }>
  | (Omit<FrameOutcome, 'frame'> & { readonly frame: Packed<FrameOutcome['frame']> });

/** Results that can pass between threads. */
export type PackedResults = Omit<Results, 'frame' | 'outcomes'> & {
  readonly frame?: Packed<Frame>;
  readonly outcomes: readonly PackedOutcome[];
};

/** Results ready to pass between threads; without `withOutcomes`, what each step gave stays behind. */
export function packResults({ frame, outcomes, ...results }: Results, withOutcomes: boolean): PackedResults {
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
  const unpacked = outcomes.map((outcome) =>
    outcome.kind === 'frame' ? { ...outcome, frame: unpack(outcome.frame) } : outcome,
  );
  // The last frame of a plan is one of its outcomes, where they came along.
  const last = unpacked.find((outcome) => outcome.kind === 'frame' && outcome.id === results.frameId);
  const known = last?.kind === 'frame' ? last.frame : undefined;
  return { ...results, ...(frame && { frame: known ?? unpack(frame) }), outcomes: unpacked };
}

function pack<F extends Frame>({ toFrame: _, toScan: __, ...data }: F): Packed<F> {
  return data;
}

/** The functions come back with a frame of the same axes. */
const unpack = <P extends Packed<Frame>>(packed: P): P & Frame =>
  Object.freeze({ ...frameOf(packed.origin, packed.x, packed.y), ...packed });
