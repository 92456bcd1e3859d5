import {
  expandedNumber,
  type Feature,
  type Fit,
  fitCircle,
  fitCone,
  fitCylinder,
  fitPlane,
  fitSphere,
  moveOf,
  type Random,
  seededRandom,
} from '@fettle/geom';
import {
  circleSkin,
  coneSkin,
  cylinderSkin,
  type NoiseMade,
  noiseOn,
  planeSkin,
  randomCut,
  randomOverlap,
  type Skin,
  scanOf,
  sphereSkin,
} from './two-pass-scans.js';

/** A surface to scan, its fit, and what it is in truth when all of it stands `lift` mm off. */
export interface Scanned {
  readonly name: string;
  skin(random: Random, isUneven: boolean): Skin;
  fit(positions: Float64Array): Fit<Feature>;
  truth(lift: number): Feature;
  /** Places in the table of uncertainties of the parameters looked at. */
  readonly parameters: readonly number[];
}

const plane = (side: number, other: number, count: number): Scanned => ({
  name: `plane ${side} × ${other}, ${count.toLocaleString('en-US')} points`,
  skin: (random, isUneven) => planeSkin(side, other, count, random, isUneven),
  fit: (positions) => fitPlane({ positions }),
  truth: (lift) => ({ kind: 'plane', point: [0, 0, lift], normal: [0, 0, 1] }),
  parameters: [0, 1, 2],
});

const cylinder = (radius: number, height: number, degrees: number, count: number): Scanned => ({
  name: `${degrees}° cylinder ⌀${2 * radius} × ${height}, ${count.toLocaleString('en-US')} points`,
  skin: (random, isUneven) => cylinderSkin(radius, height, degrees, count, random, isUneven),
  fit: (positions) => fitCylinder({ positions }),
  truth: (lift) => ({ kind: 'cylinder', point: [0, 0, 0], direction: [0, 0, 1], radius: radius + lift }),
  parameters: [0, 1, 2, 3, 4],
});

const cone = (small: number, large: number, degrees: number): Scanned => {
  const halfAngle = (degrees * Math.PI) / 180;
  return {
    name: `cone of half-angle ${degrees}°, 6,000 points`,
    skin: (random, isUneven) => coneSkin(small, large, halfAngle, 6000, random, isUneven),
    fit: (positions) => fitCone({ positions }),
    truth: (lift) => ({ kind: 'cone', apex: [0, 0, -lift / Math.sin(halfAngle)], direction: [0, 0, 1], halfAngle }),
    parameters: [0, 1, 2, 3, 4, 5],
  };
};

export const scanned = {
  plane40: plane(40, 40, 5000),
  plane100: plane(100, 60, 20_000),
  cylinder: cylinder(10, 20, 360, 8000),
  cylinder180: cylinder(20, 30, 180, 8000),
  cone: cone(5, 16, 25),
  flatCone: cone(7, 25, 70),
  sphere: {
    name: '160° sphere ⌀30, 8,000 points',
    skin: (random, isUneven) => sphereSkin(15, 160, 8000, random, isUneven),
    fit: (positions) => fitSphere({ positions }),
    truth: (lift) => ({ kind: 'sphere', center: [0, 0, 0], radius: 15 + lift }),
    parameters: [0, 1, 2, 3],
  },
  circle: {
    name: 'circle ⌀20, 1,000 points',
    skin: (random, isUneven) => circleSkin(10, 360, 1000, random, isUneven),
    fit: (positions) => fitCircle({ positions }, { plane: { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } }),
    truth: (lift) => ({ kind: 'circle', center: [0, 0, 0], normal: [0, 0, 1], radius: 10 + lift }),
    parameters: [0, 1, 5],
  },
} as const satisfies Record<string, Scanned>;

/** Standard deviation of all noise here, mm. */
export const SIGMA = 0.05;

/** Noises by name; lengths are shares of the extent. */
export const noises: readonly { readonly name: string; readonly made: NoiseMade; readonly isUneven?: boolean }[] = [
  { name: 'white', made: { kind: 'white', sigma: SIGMA } },
  { name: 'white, uneven density', made: { kind: 'white', sigma: SIGMA }, isUneven: true },
  { name: 'heavy tails', made: { kind: 'heavy', sigma: SIGMA } },
  { name: 'smoothed white noise, 1/20', made: { kind: 'smoothed', sigma: SIGMA, length: 1 / 20 } },
  {
    name: 'smoothed, uneven, 1/8',
    made: { kind: 'smoothed', sigma: SIGMA, length: 1 / 8, white: 0.1 },
    isUneven: true,
  },
  { name: 'bumps, 1/10', made: { kind: 'bumps', sigma: SIGMA, length: 1 / 10 } },
  { name: 'waves, 1/8', made: { kind: 'waves', sigma: SIGMA, length: 1 / 8, white: 0.2 } },
  { name: 'rough waves, 1/20', made: { kind: 'rough', sigma: SIGMA, length: 1 / 20 } },
  { name: 'rough waves, 1/8', made: { kind: 'rough', sigma: SIGMA, length: 1 / 8, white: 0.1 } },
];

export type Attack = 'clean' | 'step' | 'layers';

export interface Tally {
  readonly trials: number;
  /** How many were warned of a step, of layers, of either. */
  readonly steps: number;
  readonly layers: number;
  readonly warned: number;
  /** How many were warned of a bow. */
  readonly bows: number;
  /** And of another surface at the border. */
  readonly borders: number;
  /** Of those warned, how many times a parameter, and how many in all, within its ± of the one pass and of the other. */
  readonly held: number;
  readonly looked: number;
}

/** Many scans of one surface under one noise, clean or with passes `height` apart, and what their fits say. */
export function tallyPasses(
  of: Scanned,
  { made, isUneven = false }: (typeof noises)[number],
  attack: Attack,
  trials: number,
  seed: number,
  height = 2 * SIGMA,
): Tally {
  const random = seededRandom(seed);
  const counts = { trials, steps: 0, layers: 0, warned: 0, bows: 0, borders: 0, held: 0, looked: 0 };
  for (let t = 0; t < trials; t++) {
    const skin = of.skin(random, isUneven);
    const noise = noiseOn(skin, { ...made, length: (made.length ?? 0) * skin.extent }, random);
    const { feature, uncertainty } = of.fit(scanOf(skin, noise, liftOf(attack, skin, height, random)));
    const codes = (uncertainty.warnings ?? []).map(({ code }) => code);
    const isStep = codes.includes('stitching-step');
    const isLayers = codes.includes('double-layer');
    if (codes.includes('surface-bowed')) counts.bows++;
    if (codes.includes('border-off')) counts.borders++;
    if (isStep) counts.steps++;
    if (isLayers) counts.layers++;
    if (!isStep && !isLayers) continue;
    counts.warned++;
    if (attack === 'clean') continue;
    for (const lift of [0, height]) {
      const off = moveOf(of.truth(lift), uncertainty, feature);
      const m = off.length;
      for (const p of of.parameters) {
        const at = p * (m + 1);
        const { value } = expandedNumber({
          standard: Math.sqrt(uncertainty.covariance[at]!),
          random: Math.sqrt((uncertainty.random ?? uncertainty.covariance)[at]!),
          degreesOfFreedom: uncertainty.degreesOfFreedom,
        });
        counts.looked++;
        if (Math.abs(off[p]!) <= value) counts.held++;
      }
    }
  }
  return counts;
}

function liftOf(attack: Attack, skin: Skin, height: number, random: Random): ((i: number) => number) | undefined {
  if (attack === 'clean') return undefined;
  if (attack === 'step') {
    const isBeyond = randomCut(skin, random);
    return (i) => (isBeyond(i) ? height : 0);
  }
  const isWithin = randomOverlap(skin, random);
  const share = 0.3 + 0.3 * random.next();
  return (i) => (isWithin(i) && random.next() < share ? height : 0);
}
