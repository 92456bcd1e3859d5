import type { FeatureKind } from '../../feature/feature.js';
import type { Cells } from './cells.js';

/** A function of a place on a chart, from its middle, in shares of its half-diagonal; `turn` is x as an angle about the feature's axis. */
type Term = (x: number, y: number, turn: number) => number;

/** What a feature's surface may be bent by. */
export interface BowTerms {
  /** What moves of the feature itself do. */
  readonly taken: readonly Term[];
  /** Of second order. */
  readonly sought: readonly Term[];
  /** Of the next orders, beside which the second is judged. */
  readonly beside: readonly Term[];
  /** Which way the place may be moved along about which the bow is seen. */
  readonly isAlong: readonly [x: boolean, y: boolean];
}

const one: Term = () => 1;
const about: readonly Term[] = [one, (_x, _y, turn) => Math.cos(turn), (_x, _y, turn) => Math.sin(turn)];
const alongAxis = (order: number): Term[] =>
  about.map(
    (term): Term =>
      (x, y, turn) =>
        y ** order * term(x, y, turn),
  );
const monomials = (order: number): Term[] =>
  Array.from(
    { length: order + 1 },
    (_, k): Term =>
      (x, y) =>
        x ** (order - k) * y ** k,
  );

const flat: BowTerms = {
  taken: [one, ...monomials(1)],
  sought: monomials(2),
  beside: [3, 4, 5, 6].flatMap(monomials),
  isAlong: [true, true],
};

/** A barrel or waist, and an axis bent either way. */
const round: BowTerms = {
  taken: [...about, ...alongAxis(1)],
  sought: alongAxis(2),
  beside: [3, 4, 5, 6].flatMap(alongAxis),
  isAlong: [false, true],
};

/** Rounder one way than the other, as a torus is. Terms of the same order that a sphere's own moves make up are among those taken. */
const ball: BowTerms = {
  taken: [
    one,
    ...monomials(1),
    (x, y) => x * x + y * y,
    (x, y) => x * (x * x + y * y),
    (x, y) => y * (x * x + y * y),
    (x, y) => (x * x + y * y) ** 2,
  ],
  sought: [(x, y) => x * x - y * y, (x, y) => 2 * x * y],
  beside: [
    (x, y) => x * x * x - 3 * x * y * y,
    (x, y) => 3 * x * x * y - y * y * y,
    ...[(x: number, y: number) => x * x - y * y, (x: number, y: number) => x * y].map(
      (term): Term =>
        (x, y) =>
          term(x, y) * (x * x + y * y),
    ),
    (x, y) => x ** 4 - 6 * x * x * y * y + y ** 4,
    (x, y) => x * y * (x * x - y * y),
  ],
  isAlong: [false, false],
};

/** Undefined for curves, and for features that are not looked at. */
export function bowTerms(kind: FeatureKind): BowTerms | undefined {
  if (kind === 'plane') return flat;
  if (kind === 'cylinder' || kind === 'cone') return round;
  return kind === 'sphere' ? ball : undefined;
}

/** The values of terms at places x, y of a chart. */
export function valuesAt(
  terms: readonly Term[],
  { middle, reach }: Pick<Cells, 'middle' | 'reach'>,
  x: Float64Array,
  y: Float64Array,
  radius = Infinity,
): Float64Array[] {
  return terms.map((term) =>
    Float64Array.from(x, (at, i) =>
      term((at - middle[0]) / reach, (y[i] - middle[1]) / reach, (at - middle[0]) / radius),
    ),
  );
}
