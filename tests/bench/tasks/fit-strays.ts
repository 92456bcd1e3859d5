import { type Fit, fitCircle, fitCone, fitCylinder, fitPlane, fitSphere, seededRandom } from '@fettle/geom';
import { departureInUncertainties, type Strays, type StrewnKind, strewn } from '../../geom/strays.js';
import type { Row, Task } from '../task.js';

const fits: Record<StrewnKind, (points: object, options?: object) => Fit<never>> = {
  plane: fitPlane as never,
  circle: fitCircle as never,
  sphere: fitSphere as never,
  cylinder: fitCylinder as never,
  cone: fitCone as never,
};

const DRAWS = 1000;
const POINTS = 1000;
const words: Record<Strays, string> = { plane: '40 % on a plane at 15°', scatter: '30 % scattered' };

/** A robust fit of a region with strays beside the plain fit of the surface's own points. */
export const task: Task = {
  title: `Regions that hold another surface, ${DRAWS.toLocaleString('en-US')} draws of ${POINTS.toLocaleString('en-US')} points each`,
  long: true,
  async run() {
    const rows: Row[] = [];
    for (const kind of Object.keys(fits) as StrewnKind[]) {
      for (const strays of ['plane', 'scatter'] as const) {
        const random = seededRandom(15);
        let beyond = 0;
        let worst = 0;
        let most = 0;
        for (let i = 0; i < DRAWS; i++) {
          const { positions, own } = strewn(random, kind, strays, POINTS);
          const clean = fits[kind]({ positions, select: own });
          const found = fits[kind]({ positions }, { robust: true });
          const departure = departureInUncertainties(found.feature, clean);
          if (!(departure <= 2)) beyond++;
          worst = Math.max(worst, departure);
          try {
            most = Math.max(most, departureInUncertainties(fits[kind]({ positions }).feature, clean));
          } catch {
            // Without a robust start the points may not even determine the shape.
          }
        }
        rows.push({
          what: `${kind}, ${words[strays]}: beyond twice the clean fit's standard uncertainty`,
          ours: `${beyond} of ${DRAWS.toLocaleString('en-US')}, worst ${worst.toFixed(1)}×`,
          peer: `without robust, worst ${Math.round(most).toLocaleString('en-US')}×`,
          bound: 'none',
          held: beyond === 0,
        });
      }
    }
    return rows;
  },
};
