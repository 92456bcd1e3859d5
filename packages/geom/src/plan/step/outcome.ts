import type { Warning } from '../../error.js';
import type { Feature } from '../../feature/feature.js';
import type { Uncertainty } from '../../feature/uncertainty.js';
import type { Fit } from '../../fit/fit.js';
import type { DatumFrame } from '../../frame/datum-frame.js';
import type { LengthCheck } from '../../prepare/known-length.js';
import type { Prepared } from '../../prepare/prepared.js';
import type { Simplified } from '../../prepare/simplify.js';
import type { Grown } from '../../region/growing/grown.js';
import type { RegionSize } from '../../region/growing/region-size.js';
import type { BoltCircle } from '../../relate/bolt-circle.js';
import type { HoleGrid } from '../../relate/hole-grid.js';
import type { HoleRow } from '../../relate/hole-row.js';
import type { Hole } from '../../scan/holes.js';
import type { Profile } from '../../section/outline/pieces.js';
import type { Section } from '../../section/section.js';
import type { DeliverStep } from './deliver-schema.js';
import type { Protection } from './fitted-points.js';

/** A limit a person set in the plan, and whether the value holds it. */
export interface Limits {
  readonly min?: number;
  readonly max?: number;
}
export type Verdict = 'within' | 'outside';

export type SheetUnit = 'mm' | '°' | 'mm²';

/** One number on the job sheet. Lengths in mm, angles in degrees, areas in mm²: what a person reads. */
export interface SheetValue {
  /**
   * `x`, `y`, `z`, `diameter`, `distance`, `angle`; `offset`: of a plane from the frame's origin, along its normal; `angle-x`,
   * `angle-y`, `angle-z`: of a normal or direction to the axes of the row's frame; `rms`, `form` where the plan limits them; `size`
   * by hand, and beside it `on-scan` and their `difference` …
   */
  readonly name: string;
  readonly value: number;
  readonly unit: SheetUnit;
  /** Expanded uncertainty (± value, 95 %), in the same unit; absent where none can be given. */
  readonly uncertainty?: number;
  /** A size the plan gives, taken as it stands. */
  readonly given?: true;
  readonly limits?: Limits;
  /** Beside limits: where the quantity itself ends, as an acute angle at 0° and 90°. No limit there can be passed. */
  readonly ends?: Limits;
  /** Present where there are limits. */
  readonly verdict?: Verdict;
}

/** Holes found to repeat. */
export type HolePattern = BoltCircle | HoleRow | HoleGrid;

/** What was measured by hand beside what the scan says of it, mm. */
export interface Agreement {
  readonly scan: number;
  /** ± 95 %; absent where none can be given. */
  readonly uncertainty?: number;
  /** scan − by hand */
  readonly difference: number;
  /** ± 95 % of it; absent where none can be given. */
  readonly differenceUncertainty?: number;
  /** Combined standard uncertainty of the difference; 0 where nothing is known of either. */
  readonly combined: number;
  /** k of the difference's ± (JCGM 100, G.4), which few pieces of noise make larger than 2. */
  readonly factor?: number;
  /** |difference| / combined. Past `factor` the two hardly speak of the same thing. */
  readonly multiples?: number;
}

/** The profile a section step asked for. */
export interface SectionProfile {
  /** Place of its outline among the section's polylines. */
  readonly polyline: number;
  readonly profile: Profile;
  /** Places of its pieces in the order the job sheet numbers them, from 1. */
  readonly order: readonly number[];
}

/** What one step gave, in the scan's own axes. */
export type StepOutcome =
  | {
      readonly kind: 'prepare';
      readonly id: string;
      /** The scan the steps after this one see, and what it was before. Regions made later name points of it. */
      readonly prepared: Prepared;
      /** What was done and what it took away. */
      readonly words: string;
      /** Of a known length held against the scan. */
      readonly length?: LengthCheck;
      /** Of a listing of holes: the rims, longest first. */
      readonly holes?: readonly Hole[];
      readonly warnings: readonly Warning[];
    }
  | {
      readonly kind: 'region';
      readonly id: string;
      readonly select: Uint32Array;
      readonly size: RegionSize;
      /** Of a region that was grown: how, one entry a seed. */
      readonly grown?: readonly Grown[];
      /** What fits to it, and to regions made of it, are to warn of. */
      readonly doubts?: readonly Warning[];
      readonly warnings?: readonly Warning[];
    }
  | { readonly kind: 'fit'; readonly id: string; readonly fit: Fit<Feature> }
  | {
      readonly kind: 'construct';
      readonly id: string;
      readonly feature: Feature;
      /** Absent where an operand carries none, or where the result has no place of its own. */
      readonly uncertainty?: Uncertainty;
      /** Of a bolt circle, a row or a grid of holes: the places, and those missing. */
      readonly pattern?: HolePattern;
      readonly warnings: readonly Warning[];
    }
  | {
      readonly kind: 'frame';
      readonly id: string;
      readonly frame: DatumFrame;
      /** Of the origin along the frame's axes and of the axes about themselves; absent where the datums carry none. */
      readonly uncertainty?: Uncertainty;
      readonly warnings: readonly Warning[];
    }
  | {
      readonly kind: 'section';
      readonly id: string;
      readonly section: Section;
      /** Where the step asks for one. */
      readonly profile?: SectionProfile;
      readonly warnings?: readonly Warning[];
    }
  | {
      readonly kind: 'measure';
      readonly id: string;
      readonly value: SheetValue;
      /** Ends of the measured distance, for drawing it; absent for angles. */
      readonly between?: readonly [from: readonly [number, number, number], to: readonly [number, number, number]];
      readonly warnings: readonly Warning[];
    }
  | {
      readonly kind: 'by-hand';
      readonly id: string;
      /** As read. */
      readonly value: SheetValue;
      readonly instrument?: string;
      /** Where the step names what it was measured on. */
      readonly onScan?: Agreement;
      /** Ends of the distance on the scan; absent for sizes. */
      readonly between?: readonly [from: readonly [number, number, number], to: readonly [number, number, number]];
      readonly warnings: readonly Warning[];
    }
  /** What the plan asks to be written. Whoever runs the plan writes it; the frame it names is among the outcomes. */
  | {
      readonly kind: 'deliver';
      readonly id: string;
      readonly deliver: DeliverStep;
      /** What is to stay at full density where the plan asks to simplify. */
      readonly protect?: Protection;
      /** Once `simplifyDeliveries` was asked. */
      readonly simplified?: Simplified;
    };

export type MeasureOutcome = Extract<StepOutcome, { kind: 'measure' }>;
