/** What growing goes by, in mm and radians. */
export interface Turning {
  /** The most a surface may turn from one point to its neighbor. */
  readonly turnStep: number;
  /** The most it may turn from the seed overall. */
  readonly turnTotal: number;
}

/** Wider than this the normals would no longer follow the surface. */
const widest = 12;

/**
 * The radius over which normals must be averaged to be good enough for growing, mm.
 *
 * Noise σ of points that lie s apart tilts a normal taken over a radius r by 2 σ s / (√π r²) (standard deviation about one axis; it
 * is the same for a plane through the points and for a mean of triangle normals that fades toward the rim). That is to be a tenth
 * of the limit overall, and, over a radius, a twelfth of the limit per point: with less, points of a flat face that is as noisy
 * as its spacing is fine were left out here and there. On a scan with 0.05 mm of noise at 0.2 mm spacing, where single triangles
 * stand 15° to 20° off, limits of 3° and 10° give 0.8 mm, and normals good to 1°.
 */
export function smoothingRadius(noise: number, spacing: number, { turnStep, turnTotal }: Turning): number {
  const tilt = (2 / Math.sqrt(Math.PI)) * noise * spacing;
  const forTotal = Math.sqrt((10 * tilt) / turnTotal);
  const forStep = Math.cbrt((12 * tilt * spacing) / turnStep);
  return Math.min(Math.max(forTotal, forStep), widest * spacing);
}
