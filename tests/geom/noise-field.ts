import type { Random } from '@fettle/geom';

/** How errors are alike; `student` with few degrees of freedom is Matérn's family in the spectrum. */
export type FieldKernel = 'gaussian' | 'matern-3/2' | 'exponential';

export type Field = (x: number, y: number, z: number) => number;

/**
 * Noise of unit variance alike over a length, at any place of space: a sum of cosines with random directions and frequencies drawn from
 * the kernel's spectrum (Rahimi & Recht, Random features for large-scale kernel machines, 2007). It shares no code and no model with
 * what measures the noise.
 */
export function noiseField(random: Random, kernel: FieldKernel, length: number, waves = 250): Field {
  const frequencies = new Float64Array(3 * waves);
  const phases = new Float64Array(waves);
  for (let k = 0; k < waves; k++) {
    const scale = widthOf(random, kernel) / length;
    for (let i = 0; i < 3; i++) frequencies[3 * k + i] = scale * random.normal();
    phases[k] = 2 * Math.PI * random.next();
  }
  const amplitude = Math.sqrt(2 / waves);
  return (x, y, z) => {
    let sum = 0;
    for (let k = 0; k < waves; k++)
      sum += Math.cos(frequencies[3 * k] * x + frequencies[3 * k + 1] * y + frequencies[3 * k + 2] * z + phases[k]);
    return amplitude * sum;
  };
}

/** Matérn's spectrum is a multivariate Student's t with 2ν degrees of freedom: a normal over the root of a χ²/2ν. */
function widthOf(random: Random, kernel: FieldKernel): number {
  if (kernel === 'gaussian') return 1;
  const degrees = kernel === 'exponential' ? 1 : 3;
  let chi = 0;
  for (let k = 0; k < degrees; k++) chi += random.normal() ** 2;
  return Math.sqrt(degrees / chi);
}
