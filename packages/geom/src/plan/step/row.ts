import type { Warning } from '../../error.js';
import type { SheetValue } from './outcome.js';

/** What a row of the job sheet says of what its step gave. */
export interface Row {
  /** In words: `plane, least squares`, `line where top and front meet`. */
  readonly what: string;
  readonly values: readonly SheetValue[];
  /** Of lines, cylinders and cones: where along them coordinates are told: `x and z where its axis crosses y = 0`. */
  readonly where?: string;
  /** How far the feature itself can be trusted, in words, with the coverage factor: `center ± 0.012 mm in its worst direction, …`. */
  readonly uncertainty?: string;
  /** Of a fit to a region: how large that is and why growing ended, in words. */
  readonly region?: string;
  /** What the tables of the standards say of its size, where the plan asks: each a sentence or more. */
  readonly advice?: readonly string[];
  readonly rms?: number;
  readonly form?: number;
  readonly used?: number;
  readonly rejected?: number;
  readonly warnings: readonly Warning[];
}
