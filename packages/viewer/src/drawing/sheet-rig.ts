/** What part of the section the drawing shows: the mm at its middle, and mm a pixel. y goes up. */
export interface SheetRig {
  readonly x: number;
  readonly y: number;
  readonly scale: number;
  readonly width: number;
  readonly height: number;
}

export const toPixels = (rig: SheetRig, [x, y]: readonly [number, number]): readonly [number, number] => [
  rig.width / 2 + (x - rig.x) / rig.scale,
  rig.height / 2 - (y - rig.y) / rig.scale,
];

export const toSheet = (rig: SheetRig, x: number, y: number): readonly [number, number] => [
  rig.x + (x - rig.width / 2) * rig.scale,
  rig.y - (y - rig.height / 2) * rig.scale,
];

export function zoomedSheet(rig: SheetRig, factor: number, x = rig.width / 2, y = rig.height / 2): SheetRig {
  const scale = Math.min(100, Math.max(1e-4, rig.scale / factor));
  const [bx, by] = toSheet(rig, x, y);
  const [ax, ay] = toSheet({ ...rig, scale }, x, y);
  return { ...rig, scale, x: rig.x + bx - ax, y: rig.y + by - ay };
}

export const pannedSheet = (rig: SheetRig, dx: number, dy: number): SheetRig => ({
  ...rig,
  x: rig.x - dx * rig.scale,
  y: rig.y + dy * rig.scale,
});

/** Shows all of the lines, xy xy … each, with a margin for what is written beside. */
export function fittedSheet(rig: SheetRig, lines: readonly Float64Array[]): SheetRig {
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const line of lines)
    for (let i = 0; i < line.length; i += 2) {
      left = Math.min(left, line[i]!);
      right = Math.max(right, line[i]!);
      low = Math.min(low, line[i + 1]!);
      high = Math.max(high, line[i + 1]!);
    }
  if (!(right >= left)) return rig;
  const scale = Math.max(
    1e-4,
    (right - left) / Math.max(20, rig.width - 110),
    (high - low) / Math.max(20, rig.height - 80),
  );
  return { ...rig, scale, x: (left + right) / 2, y: (low + high) / 2 };
}

/** A length for the scale bar: 1, 2 or 5 times a power of ten, some hundred pixels long, mm. */
export function barLength(scale: number): number {
  const rough = 110 * scale;
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * ([5, 2, 1].find((step) => step * power <= rough) ?? 1);
}
