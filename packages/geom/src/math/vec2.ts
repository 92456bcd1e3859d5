/** A point or direction in a plane's own axes, mm or unit length. */
export type Vec2 = readonly [x: number, y: number];
