import { Matrix, pseudoInverse } from 'ml-matrix';
import type { Contact } from '../fit/fit.js';
import { dot, type Vec3 } from '../math/vec3.js';
import type { Points } from '../scan/scan.js';

/** A place that decides the size of a zone. */
export interface Deciding {
  readonly place: Vec3;
  /**
   * How much the zone grows when the place moves by 1 mm along the zone's direction: 1 and -1 of the two places a width lies
   * between; shares of it where several places hold one side.
   */
  readonly weight: number;
  /** Of two faces: 0 or 1. */
  readonly face?: 0 | 1;
}

/**
 * The contacts of a minimum zone with their weights: those at which both sides hold each other, so that no turn of the zone
 * changes its width to first order. `within` are the directions the zone may be turned toward.
 */
export function holding(contacts: readonly Contact[], { positions }: Points, within: readonly Vec3[]): Deciding[] {
  const places = contacts.map(
    ({ index }): Vec3 => [positions[3 * index], positions[3 * index + 1], positions[3 * index + 2]],
  );
  const [first] = places;
  const equations = [
    contacts.map(({ side }) => (side === 1 ? 1 : 0)),
    contacts.map(({ side }) => (side === 1 ? 0 : 1)),
    ...within.map((direction) => places.map((p) => dot(direction, p) - dot(direction, first))),
  ];
  const right = [1, -1, ...within.map(() => 0)];
  // More contacts than equations where places lie in one plane exactly: then the most even weights.
  const weights = pseudoInverse(new Matrix(equations)).mmul(Matrix.columnVector(right));
  return places.map((place, i) => ({ place, weight: weights.get(i, 0) }));
}
