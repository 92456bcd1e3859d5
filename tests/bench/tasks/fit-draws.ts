import {
  type Fit,
  fitCircle,
  fitCone,
  fitCylinder,
  fitLine,
  fitPlane,
  fitSphere,
  type Points,
  seededRandom,
} from '@fettle/geom';
import { departure, drawCase, type FittedFeature, type FittedKind } from '../../geom/null-space.js';
import type { Row, Task } from '../task.js';

const fits: Record<FittedKind, (points: Points) => Fit<FittedFeature>> = {
  plane: fitPlane,
  line: fitLine,
  circle: fitCircle,
  sphere: fitSphere,
  cylinder: fitCylinder,
  cone: fitCone,
};

const DRAWS = 10_000;

/** What `drawCase` promises, over ten thousand draws a shape: the known best fit is found, and found to have converged. */
export const task: Task = {
  title: `Point sets with a known best fit, ${DRAWS.toLocaleString('en-US')} draws a shape`,
  long: true,
  async run() {
    const rows: Row[] = [];
    for (const kind of Object.keys(fits) as FittedKind[]) {
      const random = seededRandom(2026);
      let unfinished = 0;
      let worst = 0;
      let worstNote = '';
      for (let i = 0; i < DRAWS; i++) {
        const drawn = drawCase(random, kind);
        let share = Number.POSITIVE_INFINITY;
        try {
          const fit = fits[kind]({ positions: drawn.positions });
          if (fit.converged) share = departure(fit.feature, drawn) / (drawn.size * drawn.condition);
        } catch {
          // Refused: no answer where there is one, counted like one that did not converge.
        }
        if (!Number.isFinite(share)) unfinished++;
        else if (share > worst) [worst, worstNote] = [share, drawn.note];
      }
      rows.push({
        what: `${kind}: draws that did not converge`,
        ours: `${unfinished} of ${DRAWS.toLocaleString('en-US')}`,
        bound: 'none',
        held: unfinished === 0,
      });
      rows.push({
        what: `${kind}: largest departure over size times condition, by ${worstNote}`,
        ours: worst.toExponential(1),
        bound: 'at most 1e-9',
        held: worst <= 1e-9,
      });
    }
    return rows;
  },
};
