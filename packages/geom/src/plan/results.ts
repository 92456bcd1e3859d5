import type { Warning } from '../error.js';
import type { Feature } from '../feature/feature.js';
import type { Fit } from '../fit/fit.js';
import type { Frame } from '../frame/frame.js';
import type { Section } from '../section/section.js';

/** A limit a person set in the plan, and whether the value holds it. */
export interface Limits {
  readonly min?: number;
  readonly max?: number;
}
export type Verdict = 'within' | 'outside';

/** One number on the job sheet. Lengths in mm, angles in degrees: what a person reads. */
export interface SheetValue {
  /** `x`, `y`, `z`, `diameter`, `distance`, `angle` … */
  readonly name: string;
  readonly value: number;
  readonly unit: 'mm' | '°';
  /** Expanded uncertainty (± value, 95 %), in the same unit; absent where none can be given. */
  readonly uncertainty?: number;
  readonly limits?: Limits;
  readonly verdict?: Verdict;
}

/** One row of the job sheet. */
export interface SheetRow {
  /** Number in the balloon on the marked-up drawing, from 1 in plan order. */
  readonly balloon: number;
  readonly id: string;
  /** In words: `plane, least squares`, `line where top and front meet`. */
  readonly what: string;
  readonly values: readonly SheetValue[];
  /** `scan`, or the id of the frame the coordinates are in. */
  readonly frame: string;
  readonly rms?: number;
  readonly form?: number;
  readonly used?: number;
  readonly rejected?: number;
  readonly warnings: readonly Warning[];
}

/** What one step gave, in the scan's own axes. */
export type StepOutcome =
  | { readonly kind: 'region'; readonly id: string; readonly select: Uint32Array }
  | { readonly kind: 'fit'; readonly id: string; readonly fit: Fit<Feature> }
  | {
      readonly kind: 'construct';
      readonly id: string;
      readonly feature: Feature;
      readonly warnings: readonly Warning[];
    }
  | { readonly kind: 'frame'; readonly id: string; readonly frame: Frame }
  | { readonly kind: 'section'; readonly id: string; readonly section: Section }
  | { readonly kind: 'measure'; readonly id: string; readonly value: SheetValue }
  | { readonly kind: 'deliver'; readonly id: string; readonly deliver: unknown };

/** What a plan gives on one scan. */
export interface Results {
  readonly title: string;
  readonly scan: { readonly name: string; readonly points: number; readonly triangles: number };
  /** The last frame the plan made: coordinates on the sheet after it are in it. */
  readonly frame?: Frame;
  readonly outcomes: readonly StepOutcome[];
  readonly sheet: readonly SheetRow[];
  readonly warnings: readonly Warning[];
  /** True when no limit failed. */
  readonly passed: boolean;
}
