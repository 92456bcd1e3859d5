import { type Frame, type Points, scanFrame, type Vec2, type Vec3 } from '@fettle/geom';
import { type View, type ViewName, viewAxes } from './view.js';

/** Width and height of a picture, pixels. */
export interface PictureSize {
  readonly width: number;
  readonly height: number;
}

/** Where places of the scan come to lie on a picture. Parallel projection: the same number of pixels a mm everywhere. */
export interface Camera {
  readonly size: PictureSize;
  /** Pixels a mm. */
  readonly scale: number;
  /** In scan axes: to the right, up, and back to the eye. */
  readonly right: Vec3;
  readonly up: Vec3;
  readonly back: Vec3;
  /** Pixels from the upper left corner, of a place in scan axes. */
  toPicture(p: Vec3): Vec2;
  /** mm toward the eye. */
  depthOf(p: Vec3): number;
}

export interface CameraOptions {
  readonly view: View | ViewName;
  readonly size: PictureSize;
  /** The view is in its axes. Default: those of the scan. */
  readonly frame?: Frame;
  /** Places in scan axes that must be on the picture besides the scan. */
  readonly show?: readonly Vec3[];
  /** Pixels left free around. */
  readonly margin: number;
}

/** Share of the points left out on each side when the picture is framed: stray pieces shall not make the part small. */
const STRAY = 0.002;
/** Points looked at for that. */
const SAMPLE = 50_000;

/** The camera that shows these points, as large as the picture allows. */
export function cameraFor(scan: Points, { view, size, frame = scanFrame, show = [], margin }: CameraOptions): Camera {
  const axes = viewAxes(view);
  const turned = (v: Vec3): Vec3 => {
    const [x, y, z] = [frame.x, frame.y, frame.z];
    return [0, 1, 2].map((k) => v[0] * x[k]! + v[1] * y[k]! + v[2] * z[k]!) as unknown as Vec3;
  };
  const [right, up, back] = [turned(axes.right), turned(axes.up), turned(axes.back)];
  const [left, across] = spanAlong(scan, right, show);
  const [low, high] = spanAlong(scan, up, show);
  const room = [Math.max(1, size.width - 2 * margin), Math.max(1, size.height - 2 * margin)] as const;
  const widest = Math.max(across - left, high - low);
  const scale = widest > 0 ? Math.min(room[0] / (across - left), room[1] / (high - low)) : 1;
  const [midX, midY] = [(left + across) / 2, (low + high) / 2];
  const along = (p: Vec3, axis: Vec3): number => p[0] * axis[0] + p[1] * axis[1] + p[2] * axis[2];
  return {
    size,
    scale,
    right,
    up,
    back,
    toPicture: (p) => [
      size.width / 2 + (along(p, right) - midX) * scale,
      size.height / 2 - (along(p, up) - midY) * scale,
    ],
    depthOf: (p) => along(p, back),
  };
}

function spanAlong({ positions }: Points, axis: Vec3, show: readonly Vec3[]): [number, number] {
  const count = positions.length / 3;
  const step = Math.max(1, Math.floor(count / SAMPLE));
  const values = new Float64Array(Math.ceil(count / step));
  for (let i = 0, s = 0; i < count; i += step, s++)
    values[s] = positions[3 * i]! * axis[0] + positions[3 * i + 1]! * axis[1] + positions[3 * i + 2]! * axis[2];
  values.sort();
  // Few points have no strays to speak of.
  const off = Math.floor(STRAY * values.length);
  const also = show.map((p) => p[0] * axis[0] + p[1] * axis[1] + p[2] * axis[2]);
  return [Math.min(values[off]!, ...also), Math.max(values[values.length - 1 - off]!, ...also)];
}
