import { checkPlan, FettleError, type Plan, runPlan, type Scan, seededRandom } from '@fettle/geom';
import { describe, expect, test } from 'vitest';
import { aroundZ, pointsOf } from './fit-surfaces.js';

const bore: Scan = {
  name: 'bore.ply',
  units: 'mm',
  positions: pointsOf(3000, aroundZ(seededRandom(31), 9, 120, 20, 0.02)),
};
const planOf = (...steps: object[]): Plan => checkPlan({ version: 1, title: 'A bore', steps });

describe('a fit that is asked to says which shape its points are', () => {
  test('the shape fitted, with the runner-up', () => {
    const plan = planOf({ step: 'fit', id: 'wall', shape: 'cylinder', to: 'all', suggest: true });
    const [row] = runPlan(plan, bore).sheet;
    expect(row!.uncertainty).toMatch(
      /; the shape of the points: .*a cylinder of radius (9|9\.0\d+|8\.9\d+) mm holds \d+ % of the points to 0\.0\d+ mm rms; a cone /,
    );
    expect(row!.warnings.map(({ code }) => code)).not.toContain('another-shape');
  });

  test('another one, with a warning', () => {
    const plan = planOf({ step: 'fit', id: 'wall', shape: 'plane', to: 'all', suggest: true });
    const [row] = runPlan(plan, bore).sheet;
    expect(row!.warnings.filter(({ code }) => code === 'another-shape').map(({ message }) => message)).toEqual([
      expect.stringMatching(
        /^Fitted as a plane, but by themselves the points are rather a cylinder of radius (9|9\.0\d|8\.9\d) mm\. Look whether the region is the right one, or fit that\.$/,
      ),
    ]);
  });

  test('not unless asked', () => {
    const [row] = runPlan(planOf({ step: 'fit', id: 'wall', shape: 'plane', to: 'all' }), bore).sheet;
    expect(row!.uncertainty).not.toContain('the shape of the points');
    expect(row!.warnings.map(({ code }) => code)).not.toContain('another-shape');
  });

  test.each(['line', 'circle', 'slot', 'ellipse'])('a %s is none of the shapes it tells apart', (shape) => {
    let said = '';
    try {
      planOf({ step: 'fit', id: 'rim', shape, to: 'all', suggest: true });
    } catch (error) {
      if (!(error instanceof FettleError)) throw error;
      said = error.message;
    }
    expect(said).toContain(`only with plane, sphere, cylinder or cone`);
    expect(said).toContain(`shape ${shape}`);
  });
});
