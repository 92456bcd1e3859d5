/** Red, green, blue, 0 to 255. */
export type Rgb = readonly [red: number, green: number, blue: number];

/** Paper behind a picture. */
export const PAPER: Rgb = [249, 248, 245];
/** Lines, balloons and numbers. */
export const INK: Rgb = [33, 38, 46];
/** The datum frame. */
export const DATUM: Rgb = [178, 52, 40];
/** The scan where nothing was measured. */
export const CASTING: Rgb = [205, 207, 210];
/** The inside of the skin, seen through holes. */
export const INSIDE: Rgb = [54, 54, 57];

/**
 * Tints of measured surfaces, in turn: four hues apart from each other for eyes without red or green too (they differ in lightness and
 * along blue to yellow), and all lighter than the ink upon them.
 */
export const TINTS: readonly Rgb[] = [
  [107, 179, 168],
  [222, 176, 104],
  [164, 156, 212],
  [206, 132, 126],
  [148, 184, 110],
  [126, 170, 214],
];
