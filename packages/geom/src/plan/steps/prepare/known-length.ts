import { centerOf } from '../../../construct/roles.js';
import type { Vec3 } from '../../../math/vec3.js';
import { type LengthCheck, scaleByKnownLength } from '../../../prepare/known-length.js';
import { pointIndex } from '../../../scan/point-index.js';
import type { Context } from '../../context.js';
import type { ScaleStep } from './schema.js';

/** The known length held against the scan: between centers of features, or the scan points nearest to places. */
export function checkKnownLength(step: ScaleStep, context: Context): LengthCheck {
  const { between, is, apply = false } = step.scale;
  const frame = context.frame(step.in).value;
  const place = (of: string | Vec3): Vec3 =>
    typeof of === 'string'
      ? centerOf(context.feature(of).value).position
      : pointIndex(context.scan).nearest(frame.toScan(of))!.position;
  return scaleByKnownLength(context.scan, { between: [place(between[0]), place(between[1])], is, apply });
}
