import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import type { DrawnCurve } from './curve-pick.js';
import type { DrawnSection } from './drawn-section.js';
import { type SheetRig, toPixels } from './sheet-rig.js';

/** More points than this are painted on a canvas: as elements of the page they would be slow to move. */
export const MANY_POINTS = 20_000;

/** A curve in the sheet's own mm, for an element under {@link sheetTransform}. */
export function pathOf({ points, closed }: DrawnCurve): string {
  let d = '';
  for (let i = 0; i < points.length; i += 2) d += `${i === 0 ? 'M' : 'L'}${round(points[i]!)} ${round(points[i + 1]!)}`;
  return closed ? `${d}Z` : d;
}

const round = (v: number): number => Math.round(v * 1e4) / 1e4;

/** Puts the sheet's mm where they are shown. */
export function sheetTransform(rig: SheetRig): string {
  const [x, y] = toPixels(rig, [0, 0]);
  return `matrix(${1 / rig.scale} 0 0 ${-1 / rig.scale} ${x} ${y})`;
}

/** The section's curves, as elements. */
export function CurveLayer({ drawn, rig }: { readonly drawn: DrawnSection; readonly rig: SheetRig }): JSX.Element {
  const { curves, dots } = drawn;
  const paths = useMemo(() => curves.map(pathOf), [curves]);
  const dotted = useMemo(() => dots && dotsOf(dots), [dots]);
  return (
    <g transform={sheetTransform(rig)}>
      {dotted !== undefined && <path class="dots" d={dotted} />}
      {paths.map((d, c) => (
        <path key={c} class="curve" d={d} />
      ))}
    </g>
  );
}

function dotsOf(dots: Float64Array): string {
  let d = '';
  for (let i = 0; i < dots.length; i += 2) d += `M${round(dots[i]!)} ${round(dots[i + 1]!)}h0`;
  return d;
}

/** The section's curves, painted. */
export function CurveCanvas({ drawn, rig }: { readonly drawn: DrawnSection; readonly rig: SheetRig }): JSX.Element {
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => {
    const dark = matchMedia('(prefers-color-scheme: dark)');
    const again = (): void => paint(canvas.current!, drawn, rig);
    again();
    dark.addEventListener('change', again);
    return () => dark.removeEventListener('change', again);
  }, [drawn, rig]);
  return <canvas ref={canvas} />;
}

function paint(canvas: HTMLCanvasElement, { curves, dots }: DrawnSection, rig: SheetRig): void {
  const ratio = devicePixelRatio;
  const [width, height] = [Math.round(rig.width * ratio), Math.round(rig.height * ratio)];
  if (canvas.width !== width || canvas.height !== height) Object.assign(canvas, { width, height });
  const context = canvas.getContext('2d')!;
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, rig.width, rig.height);
  const color = getComputedStyle(canvas).color;
  const [x0, y0] = toPixels(rig, [0, 0]);
  const s = 1 / rig.scale;
  if (dots) {
    context.fillStyle = color;
    for (let i = 0; i < dots.length; i += 2)
      context.fillRect(x0 + s * dots[i]! - 0.8, y0 - s * dots[i + 1]! - 0.8, 1.6, 1.6);
  }
  context.strokeStyle = color;
  context.lineWidth = 1.5;
  context.lineJoin = 'round';
  context.beginPath();
  for (const { points, closed } of curves) {
    for (let i = 0; i < points.length; i += 2) {
      const [x, y] = [x0 + s * points[i]!, y0 - s * points[i + 1]!];
      if (i === 0) context.moveTo(x, y);
      else context.lineTo(x, y);
    }
    if (closed) context.closePath();
  }
  context.stroke();
}
