/**
 * Why growing ended at an element of a region's rim: at an `edge` beyond which the surface faces another way; where it `turn`s by more
 * than the limit from point to point, as a fillet does; where it has turned by the whole `spread` from the seed; at the `border` of the
 * scan; or at points that `noise` holds off the surface.
 */
export type GrowthEnd = 'edge' | 'turn' | 'spread' | 'border' | 'noise';

/** How many elements of the rim growing ended at, by reason. */
export type GrowthEnds = Readonly<Record<GrowthEnd, number>>;

/** How well the normal at the seed is known. */
export interface SeedNormal {
  /** It was averaged over this radius, mm; 0 where normals are those of single triangles. */
  readonly radius: number;
  /** How far it may be tilted, radians, one standard deviation about one axis; 0 where nothing tells. */
  readonly tilt: number;
}

/** A region that grows: some elements at a time, or all at once. */
export interface Growth {
  readonly normal: SeedNormal;
  /** Goes on over so many elements of its rim, triangles or points; true once there are none left. */
  go(count: number): boolean;
  /** The points reached so far, ascending. */
  points(): Uint32Array;
  /** Why it ended where it did, so far. */
  ends(): GrowthEnds;
}
