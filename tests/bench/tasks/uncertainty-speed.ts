import { fitCylinder, fitPlane, fitUncertainty, type Random, seededRandom, type Uncertainty } from '@fettle/geom';
import { asRatio, inMs, millisecondsInTurn, type Row, type Task } from '../task.js';

/** n points on a plane 300 × 200 mm, or around a cylinder of 40 mm radius and 120 mm length, 0.03 mm of noise. */
const planePoints = (n: number, random: Random): Float64Array => {
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < 3 * n; i += 3) {
    positions[i] = 300 * random.next();
    positions[i + 1] = 200 * random.next();
    positions[i + 2] = 0.03 * random.normal();
  }
  return positions;
};

const cylinderPoints = (n: number, random: Random): Float64Array => {
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < 3 * n; i += 3) {
    const turn = 2 * Math.PI * random.next();
    const r = 40 + 0.03 * random.normal();
    positions[i] = r * Math.cos(turn);
    positions[i + 1] = r * Math.sin(turn);
    positions[i + 2] = 120 * (random.next() - 0.5);
  }
  return positions;
};

export const task: Task = {
  title: 'Uncertainty beside the fit it belongs to',
  async run() {
    const random = seededRandom(5);
    const rows: Row[] = [];
    const compare = (what: string, fit: () => unknown, uncertainty: () => Uncertainty): void => {
      const [whole, own] = millisecondsInTurn([fit, uncertainty], 30);
      const ratio = (whole - own) / own;
      rows.push({
        what,
        ours: inMs(own),
        peer: `the fit without it ${inMs(whole - own)}`,
        ratio: asRatio(ratio),
        bound: 'at most as much again as the fit',
        held: ratio >= 1,
      });
    };

    for (const n of [1_000_000, 2_000_000]) {
      const positions = planePoints(n, random);
      const { feature, residuals, uncertainty } = fitPlane({ positions });
      const { at, axes, reach } = uncertainty;
      const [u, v, w] = axes;
      const sense = Math.sign(w[0] * feature.normal[0] + w[1] * feature.normal[1] + w[2] * feature.normal[2]);
      const gradient = (i: number, out: Float64Array): void => {
        const x = positions[3 * i] - at[0];
        const y = positions[3 * i + 1] - at[1];
        const z = positions[3 * i + 2] - at[2];
        out[0] = -sense;
        out[1] = sense * (x * u[0] + y * u[1] + z * u[2]);
        out[2] = sense * (x * v[0] + y * v[1] + z * v[2]);
      };
      compare(
        `plane, ${n / 1e6} M points`,
        () => fitPlane({ positions }).uncertainty,
        () => fitUncertainty({ kind: 'plane', positions, residuals, parameters: 3, gradient, at, axes, reach }),
      );
    }

    const positions = cylinderPoints(1_000_000, random);
    const { residuals, uncertainty } = fitCylinder({ positions });
    const { at, axes, reach } = uncertainty;
    const [u, v, w] = axes;
    const gradient = (i: number, out: Float64Array): void => {
      const x = positions[3 * i] - at[0];
      const y = positions[3 * i + 1] - at[1];
      const z = positions[3 * i + 2] - at[2];
      const p = x * u[0] + y * u[1] + z * u[2];
      const q = x * v[0] + y * v[1] + z * v[2];
      const t = x * w[0] + y * w[1] + z * w[2];
      const r = Math.sqrt(p * p + q * q);
      out[0] = -p / r;
      out[1] = -q / r;
      out[2] = (-p / r) * t;
      out[3] = (-q / r) * t;
      out[4] = -1;
    };
    compare(
      'cylinder, 1 M points',
      () => fitCylinder({ positions }).uncertainty,
      () => fitUncertainty({ kind: 'cylinder', positions, residuals, parameters: 5, gradient, at, axes, reach }),
    );
    return rows;
  },
};
