import type { GrowthEnds } from './growth.js';

/** The most elements of a rim that are looked at. */
const looked = 200;
/** Surfaces that face so differently within the reach of a normal meet in an edge: cosine of 30°. */
const alike = Math.cos(Math.PI / 6);

/** Sums of normals, any length, of the surface on either side of a rim. */
export interface Sides {
  readonly inside: ArrayLike<number>;
  readonly outside: ArrayLike<number>;
}

/**
 * Why growing ended, by element. Of the elements turned down evenly strided ones are looked at: where the surface outside faces another
 * way, by 30° and more, they are at an edge.
 *
 * @param sidesOf undefined where nothing is outside
 */
export function endsOf(
  turnedDown: { readonly turn: readonly number[]; readonly spread: readonly number[] },
  other: { readonly border: number; readonly noise: number },
  sidesOf: (element: number) => Sides | undefined,
): GrowthEnds {
  const atEdge = (elements: readonly number[]): number => {
    const stride = Math.max(1, elements.length / looked);
    let count = 0;
    let edges = 0;
    for (let i = 0; i < elements.length; i += stride, count++) {
      const sides = sidesOf(elements[Math.floor(i)]);
      if (sides && between(sides) < alike) edges++;
    }
    return count === 0 ? 0 : Math.round((edges / count) * elements.length);
  };
  const turn = atEdge(turnedDown.turn);
  const spread = atEdge(turnedDown.spread);
  return {
    edge: turn + spread,
    turn: turnedDown.turn.length - turn,
    spread: turnedDown.spread.length - spread,
    ...other,
  };
}

/** Cosine of the angle between the two, whichever way they face. */
function between({ inside, outside }: Sides): number {
  const dot = inside[0] * outside[0] + inside[1] * outside[1] + inside[2] * outside[2];
  const length = Math.hypot(inside[0], inside[1], inside[2]) * Math.hypot(outside[0], outside[1], outside[2]);
  return length > 0 ? Math.abs(dot) / length : 1;
}
