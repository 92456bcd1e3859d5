import { FettleError, type Scan } from '@fettle/geom';
import { counted, countText } from '../text/number-text.js';

/** Refuses what no file should hold. Errors: `not-finite`, `index-out-of-range`, `no-points`, `wrong-count`. */
export function checkScan(scan: Scan): void {
  const { positions, triangles, normals, colors, name = 'scan' } = scan;
  const points = positions.length / 3;
  const refuse = (code: string, what: string) => new FettleError(code, `${name}: not written: ${what}.`);
  if (points === 0) throw refuse('no-points', 'it has no points');
  if (!Number.isInteger(points) || (triangles && triangles.length % 3 !== 0)) {
    throw refuse('wrong-count', 'its points and triangles need three numbers each');
  }
  for (const [what, values] of [['normals', normals] as const, ['colors', colors] as const]) {
    if (values !== undefined && values.length !== positions.length) {
      throw refuse('wrong-count', `it has ${counted(points, 'point')} and ${countText(values.length / 3)} ${what}`);
    }
  }
  const bad = positions.findIndex((c) => !Number.isFinite(c));
  if (bad >= 0)
    throw refuse('not-finite', `point ${countText(Math.floor(bad / 3))} has a coordinate that is no number`);
  const beyond = triangles?.findIndex((v) => v >= points) ?? -1;
  if (beyond >= 0) {
    throw refuse(
      'index-out-of-range',
      `triangle ${countText(Math.floor(beyond / 3))} names point ${countText(triangles![beyond])} of ${countText(points)}`,
    );
  }
}
