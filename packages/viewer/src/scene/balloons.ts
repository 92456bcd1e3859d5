import type { Vec3 } from '@fettle/geom';
import { placeLabels } from '@fettle/io';
import type { RunView } from '../worker/protocol.js';
import { pixelOf, type Rig } from './rig.js';

export interface Balloon {
  readonly id: string;
  readonly number: number;
  readonly at: Vec3;
}

export interface LaidBalloon extends Balloon {
  readonly anchor: readonly [number, number];
  readonly center: readonly [number, number];
}

/** Pixels. */
export const BALLOON_RADIUS = 12;
/** At the top, where the settings of the hands are, pixels. */
const TOP = 42;
/** At the lower left, where the triad is, pixels. */
const TRIAD = { width: 122, height: 142 };

/** Rows that have a place on the scan. */
export const balloonsOf = (run: RunView): readonly Balloon[] =>
  run.steps.flatMap(({ id, row, drawn, between }): Balloon[] => {
    const middle = between?.[0].map((c, k) => (c + between[1][k]!) / 2) as unknown as Vec3 | undefined;
    const at = drawn?.anchor ?? middle;
    return row && at ? [{ id, number: row.balloon, at }] : [];
  });

/** Lays balloons beside their places, none over another; those whose place is out of the picture are left out. */
export function layBalloons(balloons: readonly Balloon[], rig: Rig): readonly LaidBalloon[] {
  const { width, height } = rig;
  const shown = balloons
    .map((balloon) => ({ ...balloon, anchor: pixelOf(rig, balloon.at) }))
    .filter(({ anchor: [x, y] }) => x > 0 && y > 0 && x < width && y < height);
  const size = 2 * BALLOON_RADIUS;
  const laid = placeLabels(
    shown.map(({ anchor }) => ({
      anchor,
      width: size,
      height: size,
      prefer: [anchor[0] - width / 2 || 1, anchor[1] - height / 2],
    })),
    {
      area: { left: 6, top: TOP, right: width - 6, bottom: height - 6 },
      obstacles: [{ left: 0, top: height - TRIAD.height, right: TRIAD.width, bottom: height }],
      gap: 5,
      reach: 44,
    },
  );
  return shown.flatMap((balloon, i) => {
    const label = laid[i];
    return label ? [{ ...balloon, center: label.center }] : [];
  });
}

/** Balloons as they were laid, gone with their places: what is shown while the view moves, so that none jumps. */
export const carryBalloons = (laid: readonly LaidBalloon[], rig: Rig): readonly LaidBalloon[] =>
  laid.map((balloon) => {
    const anchor = pixelOf(rig, balloon.at);
    const [dx, dy] = [balloon.center[0] - balloon.anchor[0], balloon.center[1] - balloon.anchor[1]];
    return { ...balloon, anchor, center: [anchor[0] + dx, anchor[1] + dy] };
  });
