import { FettleError, type Vec3 } from '@fettle/geom';

/** From where a picture is taken, along parallel rays (orthographic). */
export interface View {
  /** From the part toward the eye, in the axes of the frame; any length. */
  readonly from: Vec3;
  /** What is up on the picture; any length, not along `from`. Default z, seen along z: y. */
  readonly up?: Vec3;
}

/** Directions of ISO 128-3 (first or third angle is only a matter of where the views are put), and one from each upper corner. */
export type ViewName =
  | 'front'
  | 'back'
  | 'left'
  | 'right'
  | 'top'
  | 'bottom'
  | 'front-left'
  | 'front-right'
  | 'back-left'
  | 'back-right';

/** Front is seen along y, the way the frame of a part is read: x to the right, z up. Corners show the top more than an isometric view. */
export const views: Readonly<Record<ViewName, View>> = {
  front: { from: [0, -1, 0] },
  back: { from: [0, 1, 0] },
  left: { from: [-1, 0, 0] },
  right: { from: [1, 0, 0] },
  top: { from: [0, 0, 1], up: [0, 1, 0] },
  bottom: { from: [0, 0, -1], up: [0, 1, 0] },
  'front-left': { from: [-0.52, -1, 0.78] },
  'front-right': { from: [0.52, -1, 0.78] },
  'back-left': { from: [-0.52, 1, 0.78] },
  'back-right': { from: [0.52, 1, 0.78] },
};

/** Unit vectors of a view, in the axes of the frame: x to the right on the picture, y up, and back to the eye. */
export interface ViewAxes {
  readonly right: Vec3;
  readonly up: Vec3;
  readonly back: Vec3;
}

/** @throws FettleError `view` for a direction without length, or an `up` along it */
export function viewAxes(view: View | ViewName): ViewAxes {
  const { from, up } = typeof view === 'string' ? views[view] : view;
  const size = Math.hypot(...from);
  const back: Vec3 = [from[0] / size, from[1] / size, from[2] / size];
  const upward = up ?? (Math.abs(back[2]) > 0.9999 ? [0, 1, 0] : [0, 0, 1]);
  const across = cross(upward as Vec3, back);
  const width = Math.hypot(...across);
  if (!(size > 0 && Number.isFinite(size) && width > 1e-6 * Math.hypot(...upward)))
    throw new FettleError(
      'view',
      `A picture cannot be taken from (${from.join(', ')}) with (${upward.join(', ')}) up. Give two directions that differ.`,
    );
  const right: Vec3 = [across[0] / width, across[1] / width, across[2] / width];
  return { right, up: cross(back, right), back };
}

const cross = (a: Vec3, b: Vec3): Vec3 => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
