import {
  fitCircle,
  fitCylinder,
  fitPlane,
  maximumInscribedCylinder,
  minimumZoneCircle,
  minimumZoneCylinder,
  minimumZonePlane,
  seededRandom,
} from '@fettle/geom';
import { asRatio, inMs, milliseconds, type Row, type Task } from '../task.js';

function face(n: number): Float64Array {
  const random = seededRandom(1);
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) {
    const [x, y] = [400 * random.next(), 300 * random.next()];
    positions[3 * i] = 1000 + x;
    positions[3 * i + 1] = y - 2000;
    positions[3 * i + 2] = 0.3 * x - 0.1 * y + 0.05 * random.normal();
  }
  return positions;
}

function bore(n: number, length: number): Float64Array {
  const random = seededRandom(2);
  const positions = new Float64Array(3 * n);
  for (let i = 0; i < n; i++) {
    const t = 2 * Math.PI * random.next();
    const r = 20 + 0.05 * random.normal();
    positions[3 * i] = 500 + r * Math.cos(t);
    positions[3 * i + 1] = r * Math.sin(t) - 800;
    positions[3 * i + 2] = length * random.next();
  }
  return positions;
}

/** Extreme fits of large point sets, beside the least-squares fit of the same points. */
export const task: Task = {
  title: 'Fits by extremes',
  async run() {
    const rows: Row[] = [];
    const measure = async (
      what: string,
      work: () => unknown,
      least: () => unknown,
      bound: string,
      within: number,
    ): Promise<void> => {
      const [ours, peer] = [await milliseconds(work), await milliseconds(least)];
      rows.push({
        what,
        ours: inMs(ours),
        peer: `least squares ${inMs(peer)}`,
        ratio: asRatio(peer / ours),
        bound,
        held: ours < within,
      });
    };

    const plane = { positions: face(1_000_000) };
    const planeStart = fitPlane(plane).feature;
    const leastPlane = () => fitPlane(plane);
    await measure(
      'minimum-zone plane, 1,000,000 points',
      () => minimumZonePlane(plane, { start: planeStart }),
      leastPlane,
      'under 500 ms',
      500,
    );
    await measure(
      '  least squares and 0.1 % trimmed before it',
      () => fitPlane(plane, { criterion: 'minimum-zone', trim: 0.001 }),
      leastPlane,
      'under 500 ms',
      500,
    );

    const hole = { positions: bore(100_000, 0) };
    const level = { kind: 'plane', point: [0, 0, 0], normal: [0, 0, 1] } as const;
    const circleStart = fitCircle(hole, { plane: level }).feature;
    const leastCircle = () => fitCircle(hole, { plane: level });
    await measure(
      'minimum-zone circle, 100,000 points',
      () => minimumZoneCircle(hole, { start: circleStart }),
      leastCircle,
      'under 200 ms',
      200,
    );
    await measure(
      '  least squares and 0.1 % trimmed before it',
      () => fitCircle(hole, { plane: level, criterion: 'minimum-zone', trim: 0.001 }),
      leastCircle,
      'under 200 ms',
      200,
    );

    const cylinder = { positions: bore(1_000_000, 60) };
    const start = { kind: 'cylinder', point: [500, -800, 0], direction: [0, 0, 1], radius: 20 } as const;
    const leastCylinder = () => fitCylinder(cylinder);
    await measure(
      'minimum-zone cylinder, 1,000,000 points',
      () => minimumZoneCylinder(cylinder, { start }),
      leastCylinder,
      'under 1,000 ms',
      1000,
    );
    await measure(
      'maximum inscribed cylinder, 1,000,000 points',
      () => maximumInscribedCylinder(cylinder, { start }),
      leastCylinder,
      'under 1,000 ms',
      1000,
    );
    return rows;
  },
};
