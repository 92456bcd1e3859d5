import type { Plan, RegionStep, SectionStep, Step } from '@fettle/geom';
import type { LengthUnit } from '@fettle/io';
import type { ReadonlySignal, Signal } from '@preact/signals';
import type { ChoiceView, Measurer, OpenedScan, Refusal, RunView, StepView, Suggested } from '../worker/protocol.js';

/** What the pointer does on the scan. */
export type Hand = 'turn' | 'grow' | 'brush' | 'box' | 'outline';

/** What was chosen and is not in the plan yet: its parts, what they hold together, and what is fitted to it. */
export interface Draft {
  /** Region steps in order; the last is the whole. Ids are the plan's next free ones. */
  readonly steps: readonly RegionStep[];
  readonly choice?: ChoiceView;
  readonly suggested?: Suggested;
  /** The fit that would be added: its step and what it gives. */
  readonly fit?: { readonly step: Step; readonly view?: StepView };
  readonly refusal?: Refusal;
}

/** Where a file is being read. */
export type Opening =
  | { readonly name: string; readonly bytes: number; readonly total?: number }
  | { readonly name: string; readonly share: number };

/**
 * The one place the page's state lives. The plan is the state that counts: every act makes a new plan, history walks them, and all
 * that is shown comes of running it. Signals are read anywhere; they change through the acts alone.
 */
export interface Session {
  readonly measurer: Measurer;

  readonly scan: ReadonlySignal<OpenedScan | undefined>;
  /** Whether the browser keeps a copy of the file that is open. */
  readonly isScanKept: ReadonlySignal<boolean>;
  readonly opening: ReadonlySignal<Opening | undefined>;
  readonly plan: ReadonlySignal<Plan>;
  /** Of the plan as it stands; keeps showing the last one while the next is run. */
  readonly run: ReadonlySignal<RunView>;
  readonly isRunning: ReadonlySignal<boolean>;
  readonly canUndo: ReadonlySignal<boolean>;
  readonly canRedo: ReadonlySignal<boolean>;
  /** Told to the person until dismissed: refusals, what was restored, a full store. */
  readonly notices: ReadonlySignal<readonly Notice[]>;

  /** Ids of the rows selected, in the order they were. */
  readonly selected: Signal<readonly string[]>;
  readonly hand: Signal<Hand>;
  readonly draft: Signal<Draft | undefined>;
  /** The section step whose plane clips the scene and whose drawing is shown. */
  readonly section: Signal<string | undefined>;
  /** A frame being tried, frame to scan, column-major 4×4: drawn and not yet in the plan. */
  readonly triedFrame: Signal<Float64Array | undefined>;
  /** A section being moved: drawn and not yet in the plan. */
  readonly cutting: Signal<Cutting | undefined>;
  /** Growing: degrees from point to point and overall. */
  readonly grow: Signal<{ readonly turn: number; readonly spread: number }>;

  /** Done once what was kept of the last session is back, or nothing was. */
  readonly restored: Promise<void>;

  /** Opens a scan, or a plan: told by content. The plan in place is run on the scan, unless it was made on another that is open. */
  openFile(file: File, options?: ReadingChoice): Promise<void>;
  /** Reads the file that was opened last again, otherwise: in another unit, or what is whole of it. */
  readAgain(options: ReadingChoice): Promise<void>;
  openPump(): Promise<void>;
  cancelOpening(): void;
  closeScan(): void;
  /** Takes the copy of the scan out of the browser's storage; scan and plan stay open, the plan stays kept. */
  forgetScan(): Promise<void>;
  /** Nothing is kept from now on, and what was done before is: the job is another tab's. */
  lookOnly(): Promise<void>;

  /** Adds steps at the end, if they run. Resolves to false, with a notice, where they do not. */
  append(steps: readonly Step[]): Promise<boolean>;
  /**
   * Puts a step in another's place (same id, or renamed: all that name it follow). Given how to change it, that is done to the step as it
   * is when its turn comes: changes that follow fast do not undo each other.
   */
  edit(id: string, step: Step | ((now: Step) => Step)): Promise<boolean>;
  /** Takes steps out with all that rest on them. */
  remove(ids: readonly string[]): Promise<boolean>;
  /** Ids that rest on a step, directly or not, in plan order. */
  restingOn(id: string): readonly string[];
  /** Moves a step up or down as far as what it rests on and what rests on it allow. */
  move(id: string, by: number): Promise<boolean>;
  /** Puts a whole plan in place, as when a file of one is opened. */
  usePlan(plan: Plan): Promise<boolean>;
  setTitle(title: string): void;
  undo(): void;
  redo(): void;
  /** `plane-1`, `plane-2` …: an id no step has. */
  freeId(word: string, besides?: readonly string[]): string;

  say(notice: Notice): void;
  dismiss(notice: Notice): void;
}

export interface ReadingChoice {
  readonly units?: LengthUnit;
  readonly keepWhole?: boolean;
}

/** A section being moved, and what it gives where it is now. */
export interface Cutting {
  readonly step: SectionStep;
  readonly view?: StepView;
}

export interface Notice {
  readonly tone: 'refusal' | 'word';
  readonly message: string;
  readonly code?: string;
  /** What can be done about it, a button each. */
  readonly acts?: readonly { readonly name: string; act(): void }[];
}
