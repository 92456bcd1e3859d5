import { createScan, growRegion, pointSpacing, spatialIndex, type Vec3 } from '@fettle/geom';
import { inMs, milliseconds, type Row, type Task } from '../task.js';
import { wavyMesh } from '../wavy-mesh.js';

const degrees = Math.PI / 180;

export const task: Task = {
  title: 'Growing on 4.5 M triangles and 2.25 M points',
  async run() {
    const mesh = wavyMesh(1501);
    const cloud = createScan({ positions: mesh.positions, name: 'cloud' });
    const rows: Row[] = [];
    const seed: Vec3 = [150, 150, 15 * Math.sin(0.012 * 750) * Math.cos(0.009 * 750)];
    for (const [name, scan] of [
      ['mesh', mesh],
      ['cloud', cloud],
    ] as const) {
      const start = performance.now();
      pointSpacing(scan);
      if (scan === cloud) spatialIndex(scan);
      const prepared = performance.now() - start;
      for (const total of [10, 40]) {
        const grow = () => growRegion(scan, { seed, turnStep: 3 * degrees, turnTotal: total * degrees });
        const first = performance.now();
        const points = grow().length;
        const cold = performance.now() - first;
        const warm = await milliseconds(grow, 3);
        rows.push({
          what: `${name}, ${points.toLocaleString('en-US')} points`,
          ours: `${inMs(warm)} (the first time ${inMs(cold + (total === 10 ? prepared : 0))})`,
          bound: 'under 20 µs a point and 100 ms',
          held: warm < points / 50 + 100,
        });
      }
    }
    return rows;
  },
};
