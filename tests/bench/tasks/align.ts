import { alignScan, seededRandom } from '@fettle/geom';
import { tally } from '../align-draws.js';
import { freshScan, pumpBody } from '../fresh-scans.js';
import { inMs, type Row, type Task } from '../task.js';

const DRAWS = 1_000;

export const task: Task = {
  title: 'Scans of the pump laid on another scan of it, from any pose',
  long: true,
  run: async () => [...draws(), ...speed()],
};

function draws(): Row[] {
  const { right, wrong, refused, large, largeRight, mostOff, mostTurned } = tally(DRAWS);
  return [
    {
      what: `${DRAWS} draws: pose, noise, cut to 50-100 %, density, 2 % strays; farthest off ${mostOff.toFixed(3)} mm, ${mostTurned.toFixed(4)}°`,
      ours: `${right} right, ${refused} refused, ${wrong} wrong`,
      bound: 'none wrong (0.1 mm, 0.02°)',
      held: wrong === 0,
    },
    {
      what: `of ${large} with 60 % or more in common`,
      ours: `${((100 * largeRight) / large).toFixed(1)} % right`,
      bound: 'at least 99 %',
      held: largeRight >= 0.99 * large,
    },
  ];
}

/** Growth with points: all of it, the index of the reference and the noise of both included. */
function speed(): Row[] {
  return [280_000, 1_120_000, 4_500_000].map((triangles) => {
    const body = pumpBody(triangles);
    const reference = freshScan(body, seededRandom(1), { share: 1 }).scan;
    const { scan } = freshScan(body, seededRandom(2), { share: 1, moved: true });
    globalThis.gc?.();
    const start = performance.now();
    alignScan(scan, reference);
    const ms = performance.now() - start;
    return {
      what: `${(body.scan.triangles!.length / 3).toLocaleString('en-US')} triangles to as many`,
      ours: inMs(ms),
      bound: triangles === 4_500_000 ? 'under 6,000 ms' : '',
      held: triangles < 4_500_000 || ms < 6_000,
    };
  });
}
