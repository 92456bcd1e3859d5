import { fitCylinder, fitPlane, seededRandom } from '@fettle/geom';
import { levenbergMarquardt } from 'ml-levenberg-marquardt';
import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { asRatio, inMs, milliseconds, type Row, type Task } from '../task.js';

const random = seededRandom(11);

/** n points on a tilted plane 300 × 200 mm, 0.05 mm of noise. */
function planePoints(n: number): Float64Array {
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < 3 * n; i += 3) {
    positions[i] = 300 * random.next();
    positions[i + 1] = 200 * random.next();
    positions[i + 2] = 0.1 * positions[i] + 0.05 * random.normal();
  }
  return positions;
}

/** n points around a bore of 26 mm radius and 60 mm length, 0.05 mm of noise; a share of them strays by up to 5 mm. */
function cylinderPoints(n: number, strays = 0): Float64Array {
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < 3 * n; i += 3) {
    const turn = 2 * Math.PI * random.next();
    const r = 26 + (random.next() < strays ? 5 * random.next() : 0.05 * random.normal());
    positions[i] = r * Math.cos(turn);
    positions[i + 1] = 60 * random.next();
    positions[i + 2] = r * Math.sin(turn);
  }
  return positions;
}

/** x, z of the axis where it passes y = 0, its slopes against y, and the radius, by ml-levenberg-marquardt alone. */
function cylinderByPeer(positions: Float64Array): number[] {
  const n = positions.length / 3;
  const x = Float64Array.from({ length: n }, (_, i) => i);
  return levenbergMarquardt(
    { x, y: new Float64Array(n) },
    ([a, b, c, d, r]) =>
      (i) =>
        distanceAndSlopes(positions, i, a, b, c, d)[0] - r,
    {
      initialValues: [0.5, -0.5, 0.005, -0.005, 25],
      jacobianFunction:
        ([a, b, c, d]) =>
        (i) => {
          const [, ...slopes] = distanceAndSlopes(positions, i, a, b, c, d);
          return [...slopes, -1];
        },
      damping: 1e-3,
      maxIterations: 6,
      errorTolerance: 1e-30,
    },
  ).parameterValues;
}

/** Distance of point i from the axis through (a, 0, b) along (c, 1, d), and its derivatives by a, b, c, d. */
function distanceAndSlopes(positions: Float64Array, i: number, a: number, b: number, c: number, d: number): number[] {
  const px = positions[3 * i] - a;
  const py = positions[3 * i + 1];
  const pz = positions[3 * i + 2] - b;
  const square = 1 + c * c + d * d;
  const along = (px * c + py + pz * d) / square;
  const x = px - along * c;
  const y = py - along;
  const z = pz - along * d;
  const far = Math.sqrt(x * x + y * y + z * z);
  return [far, -x / far, -z / far, (-along * x) / far, (-along * z) / far];
}

export const task: Task = {
  title: 'Fits of millions of points',
  async run() {
    const rows: Row[] = [];

    const plane = planePoints(2_000_000);
    const planeMs = await milliseconds(() => fitPlane({ positions: plane }), 9);
    const few = plane.subarray(0, 600_000);
    const svdMs = await milliseconds(() => {
      const matrix = new Matrix(
        Array.from({ length: few.length / 3 }, (_, i) => [few[3 * i], few[3 * i + 1], few[3 * i + 2]]),
      );
      return new SingularValueDecomposition(matrix.center('column'), { computeLeftSingularVectors: false });
    }, 3);
    rows.push({
      what: 'plane, 2 M points, residuals and form included',
      ours: inMs(planeMs),
      peer: `ml-matrix SVD of 0.2 M points ${inMs(svdMs)}, ten times that for 2 M`,
      ratio: asRatio((10 * svdMs) / planeMs),
      bound: 'under 30 ms',
      held: planeMs < 30,
    });

    const cylinder = cylinderPoints(1_000_000);
    const cylinderMs = await milliseconds(() => fitCylinder({ positions: cylinder }), 7);
    let byPeer: number[] = [];
    const peerMs = await milliseconds(() => {
      byPeer = cylinderByPeer(cylinder);
    }, 1);
    const { feature } = fitCylinder({ positions: cylinder });
    const digits = -Math.log10(Math.abs(feature.radius - byPeer[4]) / feature.radius);
    rows.push({
      what: `cylinder, 1 M points; radii agree to ${Math.min(16, Math.floor(digits))} digits`,
      ours: inMs(cylinderMs),
      peer: `ml-levenberg-marquardt alone, 6 steps ${inMs(peerMs)}`,
      ratio: asRatio(peerMs / cylinderMs),
      bound: 'at least 20×',
      held: peerMs >= 20 * cylinderMs,
    });

    const strayed = cylinderPoints(1_000_000, 0.05);
    const rejectMs = await milliseconds(() => fitCylinder({ positions: strayed }, { reject: 3.5 }), 3);
    rows.push({
      what: 'cylinder, 1 M points, a twentieth strays, rejection at 3.5 sigmas',
      ours: inMs(rejectMs),
      peer: `without rejection ${inMs(await milliseconds(() => fitCylinder({ positions: strayed }), 3))}`,
      bound: 'under 1 s',
      held: rejectMs < 1000,
    });
    return rows;
  },
};
