import type { Vec3 } from '@fettle/geom';

/** A direction that is known: that of a row, or numbers along the axes of a frame. Their length tells nothing. */
export type KnownDirection = string | Vec3;
