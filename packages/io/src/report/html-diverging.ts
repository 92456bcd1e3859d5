/**
 * Colors of residuals: blue inside or below the feature, paper on it, ochre outside or above. The two ends differ along blue to yellow and
 * both darken evenly, so that eyes without red or green read them too, and a gray print still shows size.
 */
const LOW = [24, 78, 138] as const;
const MIDDLE = [244, 243, 239] as const;
const HIGH = [150, 84, 12] as const;

export type Color = readonly [number, number, number];

/** Color of a share of the range, from -1 to 1; beyond, the ends. */
export function divergingColor(share: number): Color {
  const t = Math.min(1, Math.abs(share)) ** 0.85;
  const end = share < 0 ? LOW : HIGH;
  return [0, 1, 2].map((k) => Math.round(MIDDLE[k]! + t * (end[k]! - MIDDLE[k]!))) as unknown as Color;
}

export const cssColor = ([r, g, b]: Color): string => `rgb(${r},${g},${b})`;

/** A length of 1, 2 or 5 times a power of ten, at least this long. */
export function niceAbove(length: number): number {
  if (!(length > 0)) return 1e-3;
  const power = 10 ** Math.floor(Math.log10(length));
  return power * ([1, 2, 5, 10].find((step) => step * power >= length * (1 - 1e-9)) ?? 10);
}

/** The range of colors for residuals: the smallest round number that holds 98 % of them, mm. */
export function residualRange(residuals: Float64Array): number {
  const sizes = residuals.map(Math.abs).sort();
  return niceAbove(sizes[Math.floor(0.98 * (sizes.length - 1))] ?? 0);
}
