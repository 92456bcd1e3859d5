/** How alike the errors of two points are, by their distance over the length of the noise: 1 at 0. */
export const KERNELS = {
  /** Smooth: a scanner that matches windows of pixels, a mesh averaged from many views. */
  gaussian: (t: number): number => Math.exp((-t * t) / 2),
  /** Once differentiable (Matérn with ν = 3/2): between smooth and rough. */
  'matern-3/2': (t: number): number => (1 + Math.sqrt(3) * t) * Math.exp(-Math.sqrt(3) * t),
  /** Rough, however close one looks. */
  exponential: (t: number): number => Math.exp(-t),
} as const;

export type NoiseKernel = keyof typeof KERNELS;

/**
 * Area that one independent piece of such noise takes, over length²: ∫ ρ² over the plane, so that an area A has A / (this · length²)
 * degrees of freedom of its mean square.
 */
export const PIECE_AREA: Readonly<Record<NoiseKernel, number>> = {
  gaussian: Math.PI,
  'matern-3/2': 0.75 * Math.PI,
  exponential: 0.5 * Math.PI,
};

/** From this many lengths on less than a millionth. */
export const REACH: Readonly<Record<NoiseKernel, number>> = { gaussian: 5.3, 'matern-3/2': 9.8, exponential: 13.9 };
