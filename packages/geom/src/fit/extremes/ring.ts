/** The nearest and the farthest of some points from a center in their plane. */
export interface Ring {
  readonly inner: number;
  readonly outer: number;
  readonly innermost: number;
  readonly outermost: number;
}

/** @param xy xy xy …, mm */
export function ringAbout(xy: Float64Array, cx: number, cy: number): Ring {
  let inner = Number.POSITIVE_INFINITY;
  let outer = -1;
  let innermost = 0;
  let outermost = 0;
  for (let k = 0; k < xy.length; k += 2) {
    const x = xy[k] - cx;
    const y = xy[k + 1] - cy;
    const d = x * x + y * y;
    if (d < inner) {
      inner = d;
      innermost = k;
    }
    if (d > outer) {
      outer = d;
      outermost = k;
    }
  }
  return {
    inner: Math.hypot(xy[innermost] - cx, xy[innermost + 1] - cy),
    outer: Math.hypot(xy[outermost] - cx, xy[outermost + 1] - cy),
    innermost: innermost / 2,
    outermost: outermost / 2,
  };
}

/**
 * Places of the nearest and the farthest point in each of `count` equal sectors about the origin: a spread first
 * choice.
 */
export function sectorExtremes(xy: Float64Array, count: number): { inner: number[]; outer: number[] } {
  const inner = new Int32Array(count).fill(-1);
  const outer = new Int32Array(count).fill(-1);
  const near = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const far = new Float64Array(count).fill(-1);
  const perRadian = count / (2 * Math.PI);
  for (let i = 0; i < xy.length / 2; i++) {
    const x = xy[2 * i];
    const y = xy[2 * i + 1];
    const d = x * x + y * y;
    const sector = Math.min(count - 1, Math.floor((Math.atan2(y, x) + Math.PI) * perRadian));
    if (d < near[sector]) {
      near[sector] = d;
      inner[sector] = i;
    }
    if (d > far[sector]) {
      far[sector] = d;
      outer[sector] = i;
    }
  }
  const present = (places: Int32Array) => [...places].filter((i) => i >= 0);
  return { inner: present(inner), outer: present(outer) };
}
