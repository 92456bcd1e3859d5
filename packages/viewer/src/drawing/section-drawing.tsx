import './drawing.css';
import type { Vec3 } from '@fettle/geom';
import { useComputed, useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { registerKeys } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import type { SectionView } from '../worker/protocol.js';
import { between, boxOf, type CurvePlace, type DrawnCurve, nearestPlace } from './curve-pick.js';
import { CutBar } from './cut-bar.js';
import { keepCut, startCut } from './cutting.js';
import { type DrawingAxes, drawingAxes, onSheet } from './drawing-axes.js';
import { drawingKeys } from './drawing-keys.js';
import { FittedLayer } from './fitted-layer.js';
import { barLength, fittedSheet, pannedSheet, type SheetRig, toPixels, toSheet, zoomedSheet } from './sheet-rig.js';
import { StretchCard } from './stretch-card.js';
import { fitStretch, type PickedStretch, stretchingOf } from './stretching.js';

/** A pick counts if it is this near to a curve, pixels. */
const NEAR = 14;
/** An outline no longer than this share of the drawing is picked whole. */
const SMALL = 0.45;

/** The section that is being moved or was selected, as a drawing true to scale. */
export function SectionDrawing({ session }: { readonly session: Session }): JSX.Element | null {
  useEffect(
    () =>
      registerKeys([
        {
          key: 's',
          words: 'Cut a section',
          when: () => session.scan.peek() !== undefined,
          act: () => startCut(session),
        },
      ]),
    [session],
  );
  const shown = session.run.value.steps.find(({ id }) => id === session.section.value);
  const section = session.cutting.value?.view?.section ?? shown?.section;
  const isCutting = session.cutting.value !== undefined;
  if (!isCutting && !section) return null;
  const id = session.cutting.value?.step.id ?? shown?.id ?? '';
  return (
    <section class="drawing section-drawing" aria-label={`Section ${id}`}>
      <header>
        <h2>
          Section <span>{id}</span>
        </h2>
        <CutBar session={session} />
        {!isCutting && (
          <button
            type="button"
            title="Close the drawing; the section stays in the plan"
            onClick={() => {
              session.section.value = undefined;
              stretchingOf(session).value = undefined;
            }}
          >
            Close
          </button>
        )}
      </header>
      {section && <Sheet session={session} section={section} id={id} />}
      <StretchCard session={session} />
    </section>
  );
}

interface SheetProps {
  readonly session: Session;
  readonly section: SectionView;
  readonly id: string;
}

function Sheet({ session, section, id }: SheetProps): JSX.Element {
  const svg = useRef<SVGSVGElement>(null);
  const rig = useSignal<SheetRig>({ x: 0, y: 0, scale: 1, width: 600, height: 240 });
  const begun = useSignal<CurvePlace | undefined>(undefined);
  const hovered = useSignal<CurvePlace | undefined>(undefined);
  const walked = useSignal<number | undefined>(undefined);
  const axes = drawingAxes(session, section);
  const curves = section.polylines.map(({ closed, points }): DrawnCurve => ({ closed, points: flat(axes, points) }));
  const stretching = stretchingOf(session);

  // A drawing is laid out anew when it is of another section, not while the section moves.
  const laidOut = useRef('');
  useEffect(() => {
    const element = svg.current!;
    const sizes = new ResizeObserver(() => {
      rig.value = { ...rig.peek(), width: element.clientWidth, height: element.clientHeight };
    });
    sizes.observe(element);
    return () => sizes.disconnect();
  }, [rig]);
  useEffect(() => {
    const key = `${id} ${axes.names.join()}`;
    if (laidOut.current === key || curves.length === 0) return;
    laidOut.current = key;
    const { clientWidth: width, clientHeight: height } = svg.current!;
    rig.value = fittedSheet(
      { ...rig.peek(), width, height },
      curves.map(({ points }) => points),
    );
    begun.value = undefined;
  });

  const place3 = (at: readonly [number, number]): Vec3 => {
    const off = depthOf(axes, section);
    return [0, 1, 2].map(
      (k) => axes.origin[k]! + at[0] * axes.right[k]! + at[1] * axes.up[k]! + off * section.normal[k]!,
    ) as unknown as Vec3;
  };

  async function pickWhole(c: number): Promise<void> {
    begun.value = undefined;
    const { points } = section.polylines[c]!;
    const step = Math.max(3, 3 * Math.floor(points.length / 900));
    const outline: Vec3[] = [];
    for (let i = 0; i + 2 < points.length; i += step) outline.push([points[i]!, points[i + 1]!, points[i + 2]!]);
    await fit({ outline, normal: section.normal }, 'circle');
  }

  async function fit(picked: PickedStretch, shape: 'line' | 'circle'): Promise<void> {
    if (session.cutting.peek() && !(await keepCut(session))) return;
    const of = session.section.peek() ?? id;
    await fitStretch(session, of, picked, shape);
  }

  async function pickAt(at: readonly [number, number]): Promise<void> {
    const start = begun.peek();
    const found = nearestPlace(curves, at, start?.curve);
    if (!found || found.off > NEAR * rig.peek().scale * (start ? 4 : 1)) {
      begun.value = undefined;
      return;
    }
    const curve = curves[found.curve]!;
    if (!start) {
      const { min, max } = boxOf(curve);
      const { width, height, scale } = rig.peek();
      const isSmall = max[0] - min[0] < SMALL * width * scale && max[1] - min[1] < SMALL * height * scale;
      if (curve.closed && isSmall) await pickWhole(found.curve);
      else begun.value = found;
      return;
    }
    begun.value = undefined;
    const line = between(curve, start, found);
    await fit({ from: place3(start.at), to: place3(found.at) }, bend(line) < 0.01 ? 'line' : 'circle');
  }

  useEffect(() =>
    drawingKeys({
      session,
      count: curves.length,
      walked,
      pick: (c) => {
        if (curves[c]?.closed) void pickWhole(c);
        else {
          const { points } = curves[c]!;
          const at = (i: number): readonly [number, number] => [points[2 * i]!, points[2 * i + 1]!];
          void fit({ from: place3(at(0)), to: place3(at(points.length / 2 - 1)) }, 'line');
        }
      },
    }),
  );

  const drag = useRef<{ x: number; y: number; hasMoved: boolean } | undefined>(undefined);
  const where = (event: { clientX: number; clientY: number }): readonly [number, number] => {
    const box = svg.current!.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const near = useComputed(() => hovered.value);
  const paths = curves.map((curve) => path(curve, rig.value));
  const start = begun.value;
  const live =
    start && hovered.value?.curve === start.curve ? between(curves[start.curve]!, start, hovered.value) : undefined;

  return (
    <svg
      ref={svg}
      class="sheet"
      aria-label={`Section ${id}, ${curves.length} curves`}
      onPointerDown={(event) => {
        event.currentTarget.setPointerCapture(event.pointerId);
        drag.current = { x: event.clientX, y: event.clientY, hasMoved: false };
      }}
      onPointerMove={(event) => {
        const from = drag.current;
        if (!from) {
          const found = nearestPlace(curves, toSheet(rig.peek(), ...where(event)), begun.peek()?.curve);
          hovered.value = found && found.off < NEAR * rig.peek().scale * (begun.peek() ? 4 : 1) ? found : undefined;
          return;
        }
        if (!from.hasMoved && Math.hypot(event.clientX - from.x, event.clientY - from.y) < 4) return;
        rig.value = pannedSheet(rig.peek(), event.clientX - from.x, event.clientY - from.y);
        drag.current = { x: event.clientX, y: event.clientY, hasMoved: true };
      }}
      onPointerUp={(event) => {
        const from = drag.current;
        drag.current = undefined;
        if (from && !from.hasMoved) void pickAt(toSheet(rig.peek(), ...where(event)));
      }}
      onWheel={(event) => {
        event.preventDefault();
        rig.value = zoomedSheet(rig.peek(), Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0015)), ...where(event));
      }}
    >
      <title>{`Section ${id}`}</title>
      <Axes rig={rig.value} names={axes.names} />
      {paths.map((d, c) => (
        <path key={c} class={`curve${near.value?.curve === c || walked.value === c ? ' near' : ''}`} d={d} />
      ))}
      <FittedLayer session={session} id={id} axes={axes} rig={rig.value} />
      {live && <path class="stretch" d={path({ closed: false, points: live }, rig.value)} />}
      {start && <circle class="pick" {...circleAt(rig.value, start.at)} />}
      {hovered.value && <circle class="pick" {...circleAt(rig.value, hovered.value.at)} />}
      {stretching.value?.view?.drawn && (
        <Lines lines={stretching.value.view.drawn.lines} axes={axes} rig={rig.value} kind="tried" />
      )}
      <ScaleBar rig={rig.value} />
      {curves.length === 0 && (
        <text class="empty" x={rig.value.width / 2} y={rig.value.height / 2}>
          The section misses the scan here.
        </text>
      )}
    </svg>
  );
}

/** How far the section's plane lies from the origin of its axes along its normal. */
function depthOf(axes: DrawingAxes, { origin, normal }: SectionView): number {
  return normal.reduce((sum, n, k) => sum + n * (origin[k]! - axes.origin[k]!), 0);
}

function flat(axes: DrawingAxes, points: Float64Array): Float64Array {
  const out = new Float64Array((2 * points.length) / 3);
  for (let i = 0, o = 0; i < points.length; i += 3, o += 2)
    [out[o], out[o + 1]] = onSheet(axes, [points[i]!, points[i + 1]!, points[i + 2]!]);
  return out;
}

/** How far a stretch strays from the straight line between its ends, as a share of that. */
function bend(line: Float64Array): number {
  const [ax, ay] = [line[0]!, line[1]!];
  const [dx, dy] = [line.at(-2)! - ax, line.at(-1)! - ay];
  const length = Math.hypot(dx, dy);
  if (length === 0) return 1;
  let most = 0;
  for (let i = 0; i < line.length; i += 2)
    most = Math.max(most, Math.abs((line[i]! - ax) * dy - (line[i + 1]! - ay) * dx) / length);
  return most / length;
}

function path({ points, closed }: DrawnCurve, rig: SheetRig): string {
  const parts: string[] = [];
  for (let i = 0; i < points.length; i += 2) {
    const [x, y] = toPixels(rig, [points[i]!, points[i + 1]!]);
    parts.push(`${i === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`);
  }
  return parts.join('') + (closed ? 'Z' : '');
}

const circleAt = (rig: SheetRig, at: readonly [number, number]): { cx: number; cy: number; r: number } => {
  const [cx, cy] = toPixels(rig, at);
  return { cx, cy, r: 4.5 };
};

export function Lines(props: {
  readonly lines: readonly Float32Array[];
  readonly axes: DrawingAxes;
  readonly rig: SheetRig;
  readonly kind: string;
}): JSX.Element {
  const { lines, axes, rig, kind } = props;
  return (
    <>
      {lines.map((line) => (
        <path
          key={line.byteOffset + line.length + (line[0] ?? 0)}
          class={kind}
          d={path({ closed: false, points: flat(axes, Float64Array.from(line)) }, rig)}
        />
      ))}
    </>
  );
}

/** The frame's axes through its origin where it lies in the picture, and their names at the sheet's corner. */
function Axes({ rig, names }: { readonly rig: SheetRig; readonly names: readonly [string, string] }): JSX.Element {
  const [x, y] = toPixels(rig, [0, 0]);
  const { width, height } = rig;
  return (
    <g class="axes">
      {x > 0 && x < width && <line x1={x} y1={0} x2={x} y2={height} />}
      {y > 0 && y < height && <line x1={0} y1={y} x2={width} y2={y} />}
      <path d="M18 66V24m-4 8 4-8 4 8M18 66H60m-8-4 8 4-8 4" />
      <text x={66} y={66}>
        {names[0]}
      </text>
      <text x={18} y={16}>
        {names[1]}
      </text>
    </g>
  );
}

function ScaleBar({ rig }: { readonly rig: SheetRig }): JSX.Element {
  const length = barLength(rig.scale);
  const pixels = length / rig.scale;
  const [x, y] = [rig.width - pixels - 18, rig.height - 16];
  return (
    <g class="scale-bar">
      <path d={`M${x} ${y - 5}v10M${x + pixels} ${y - 5}v10M${x} ${y}h${pixels}`} />
      <text x={x + pixels / 2} y={y - 8}>
        {length} mm
      </text>
    </g>
  );
}
