import { planeOf } from '../../../feature/roles.js';
import { scanFrame } from '../../../math/frame.js';
import { addScaled } from '../../../math/vec3.js';
import { type CropOptions, type CropShape, crop } from '../../../prepare/crop.js';
import type { Prepared } from '../../../prepare/prepared.js';
import type { Context } from '../../step/context.js';
import type { CropStep } from './schema.js';

export function cropped(step: CropStep, context: Context): Prepared {
  const { box, sphere, halfSpace, drop = false } = step.crop;
  const options: CropOptions = { drop, frame: context.frame(step.in).value };
  if (box !== undefined) return crop(context.scan, { box }, options);
  if (sphere !== undefined) return crop(context.scan, { sphere }, options);
  if ('point' in halfSpace!) return crop(context.scan, { halfSpace }, options);
  const { plane, offset = 0 } = halfSpace!;
  const { point, normal } = planeOf(context.feature(plane).value);
  const side: CropShape = { halfSpace: { point: addScaled(point, normal, offset), normal } };
  return crop(context.scan, side, { drop, frame: scanFrame });
}
