import { z } from 'zod';
import type { Feature, FeatureKind } from '../../../feature/feature.js';
import { centerOf, haveCenter, type WithCenter } from '../../../feature/roles.js';
import { boltCircle } from '../../../relate/bolt-circle.js';
import { holeGrid } from '../../../relate/hole-grid.js';
import { holeRow } from '../../../relate/hole-row.js';
import { positiveLength } from '../../step/fields.js';
import { type ConstructForm, each } from '../../step/form.js';
import type { HolePattern } from '../../step/outcome.js';
import { aFeature, base } from './base.js';

const within = positiveLength.optional().describe('How far off its place a hole may be, mm; default 1.');
const holes = (least: number) => z.array(aFeature).min(least).describe('Hole centers, at least this many.');

/** Holes keep their own normals: they tell which way the pattern faces. */
const asHoles = (features: readonly unknown[]): readonly WithCenter[] =>
  (features as readonly Feature[]).map((f) => (f.kind === 'circle' ? f : centerOf(f)));

const options = ({ within, places }: { within?: number | undefined; places?: number | undefined }) => ({
  ...(within !== undefined && { within }),
  ...(places !== undefined && { count: places }),
});

const made = (pattern: HolePattern) => ({ feature: pattern.feature, warnings: [], pattern });
const yields = (kind: FeatureKind) => () => kind;

const circle = z
  .strictObject({
    ...base,
    boltCircle: holes(3),
    places: z.int().min(3).optional().describe('Places the full circle has. Absent: the fewest that fit the holes.'),
    within,
  })
  .describe('The bolt circle through hole centers: evenly spaced, with any missing holes named.');

export const boltCircleForm: ConstructForm<z.infer<typeof circle>> = {
  schema: circle,
  operands: (step) => each('boltCircle', step.boltCircle, haveCenter),
  yields: yields('circle'),
  make: (step, features) => made(boltCircle(asHoles(features), options(step))),
  inWords: (step) => `bolt circle through ${step.boltCircle.join(', ')}`,
};

const row = z
  .strictObject({ ...base, row: holes(3), within })
  .describe('The row of holes at one pitch, with any missing holes named.');

export const rowForm: ConstructForm<z.infer<typeof row>> = {
  schema: row,
  operands: (step) => each('row', step.row, haveCenter),
  yields: yields('line'),
  make: (step, features) => made(holeRow(asHoles(features), options(step))),
  inWords: (step) => `row of ${step.row.join(', ')}`,
};

const grid = z
  .strictObject({ ...base, grid: holes(4), within })
  .describe('The grid of holes in rows and columns, with any missing holes named.');

export const gridForm: ConstructForm<z.infer<typeof grid>> = {
  schema: grid,
  operands: (step) => each('grid', step.grid, haveCenter),
  yields: yields('line'),
  make: (step, features) => made(holeGrid(asHoles(features), options(step))),
  inWords: (step) => `grid of ${step.grid.join(', ')}`,
};
