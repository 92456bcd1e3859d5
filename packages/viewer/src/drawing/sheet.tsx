import { sizeText } from '@fettle/io';
import { type Signal, useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import { nameOfKey } from '../keys/keys.js';
import type { Session } from '../session/session.js';
import type { PieceView, SectionView } from '../worker/protocol.js';
import { CurveCanvas, CurveLayer, MANY_POINTS, pathOf, sheetTransform } from './curve-layer.js';
import { drawingAxes, onSheet } from './drawing-axes.js';
import { drawnSection } from './drawn-section.js';
import { fittedLabels } from './fitted-labels.js';
import { FittedLayer, Lines } from './fitted-layer.js';
import { Picking } from './picking.js';
import { ProfileLayer } from './profile-layer.js';
import { findProfile, profilingOf } from './profiling.js';
import { Axes, ScaleBar } from './sheet-marks.js';
import { sheetKeys, sheetPointer } from './sheet-pointer.js';
import { fittedSheet, type SheetRig, toPixels } from './sheet-rig.js';
import { StretchCard } from './stretch-card.js';
import { stretchingOf, trialOf } from './stretching.js';

export interface SheetProps {
  readonly session: Session;
  readonly section: SectionView;
  readonly id: string;
  /** Told what is picked on while the sheet is there. */
  readonly inUse: Signal<Picking | undefined>;
}

const none: readonly PieceView[] = [];

/** A section true to scale: its curves, its profile with dimensions, what was fitted, and the picking of stretches. */
export function Sheet({ session, section, id, inUse }: SheetProps): JSX.Element {
  const root = useRef<HTMLDivElement>(null);
  const rig = useSignal<SheetRig>({ x: 0, y: 0, scale: 1, width: 0, height: 0 });
  const picking = useMemo(() => new Picking(session, rig), [session, rig]);
  const pointer = useMemo(() => sheetPointer(rig, picking), [rig, picking]);
  const run = session.run.value;
  const axes = useMemo(() => drawingAxes(session, section), [session, section, run]);
  const drawn = useMemo(() => drawnSection(section, axes), [section, axes]);
  const isCutting = session.cutting.value !== undefined;
  const profiling = profilingOf(session).value;
  const profile = profiling.isOn && profiling.of === section ? profiling.view : undefined;
  const lines = drawn.dots
    ? [...drawn.curves.map(({ points }) => points), drawn.dots]
    : drawn.curves.map((c) => c.points);
  picking.use({ id, drawn, pieces: profile?.pieces ?? none });

  useEffect(() => {
    const element = root.current!;
    const sizes = new ResizeObserver(() => {
      const before = rig.peek();
      const sized = { ...before, width: element.clientWidth, height: element.clientHeight };
      rig.value = before.width === 0 ? fittedSheet(sized, linesNow.current) : sized;
    });
    sizes.observe(element);
    return () => sizes.disconnect();
  }, [rig]);
  const linesNow = useRef(lines);
  linesNow.current = lines;

  // A drawing is laid out anew when it lies otherwise, not while the section moves.
  const laid = axes.names.join();
  useEffect(() => {
    if (rig.peek().width > 0) rig.value = fittedSheet(rig.peek(), linesNow.current);
  }, [laid, lines.length > 0]);

  useEffect(() => {
    if (!isCutting) void findProfile(session, id, section);
  }, [session, id, section, isCutting, profiling]);
  useEffect(() => {
    inUse.value = picking;
    return () => {
      inUse.value = undefined;
    };
  }, [inUse, picking]);
  // Once a section is kept, the arrow keys walk its pieces.
  useEffect(() => {
    if (!isCutting && document.activeElement === document.body) root.current?.focus({ preventScroll: true });
  }, [isCutting]);

  const { value: shown } = rig;
  const labels = fittedLabels(session, id, axes, shown);
  const stop = picking.stops[picking.walked.value ?? -1];
  const near = picking.near.value ?? stop?.piece;
  const bare = stop && !stop.piece ? stop.curve : undefined;
  const hovered = picking.hovered.value;
  const live = picking.live();
  const box = picking.box.value;
  const stretching = stretchingOf(session).value;
  const words = near ? pieceInWords(near) : bare ? `curve of ${bare.points.length / 2} points` : '';
  return (
    <div
      ref={root}
      class="sheet"
      role="application"
      // biome-ignore lint/a11y/noNoninteractiveTabindex: an application takes keys
      tabIndex={0}
      aria-label={`Drawing of ${id}: ${picking.stops.length} ${profile ? 'pieces' : 'curves'}. Arrow keys walk them, space picks.`}
      onKeyDown={(event) => {
        if (event.target !== root.current) return;
        // With nothing to let go of, escape gives the keys back to the scene.
        if (event.key === 'Escape' && !isCutting && !stretching && !picking.begun.peek()) root.current?.blur();
        const found = sheetKeys.find(({ key }) => key === nameOfKey(event));
        if (!found) return;
        event.preventDefault();
        found.act({ rig, picking, lines });
      }}
      {...pointer}
    >
      {drawn.count > MANY_POINTS && <CurveCanvas drawn={drawn} rig={shown} />}
      <svg aria-hidden="true">
        <Axes rig={shown} names={axes.names} />
        {drawn.count <= MANY_POINTS && <CurveLayer drawn={drawn} rig={shown} />}
        {profile && (
          <ProfileLayer profile={profile} axes={axes} rig={shown} near={near} taken={labels.map(({ box }) => box)} />
        )}
        {!profile && hovered && !live && drawn.curves[hovered.curve] && (
          <Stroke kind="near" curve={drawn.curves[hovered.curve]!} rig={shown} />
        )}
        {bare && <Stroke kind="near" curve={bare} rig={shown} />}
        <FittedLayer session={session} id={id} labels={labels} axes={axes} rig={shown} />
        {live && <Stroke kind="stretch" curve={{ closed: false, points: live }} rig={shown} />}
        {picking.begun.value && <Spot rig={shown} at={picking.begun.value.at} />}
        {hovered && (live || !profile) && <Spot rig={shown} at={hovered.at} />}
        {stretching?.section === id &&
          stretching.stretches.map((stretch, s) => {
            const found = trialOf(stretch)?.view?.drawn;
            return found && <Lines key={s} lines={found.lines} axes={axes} rig={shown} kind="tried" />;
          })}
        {box && <Box corners={box} rig={shown} />}
        <ScaleBar rig={shown} />
        {drawn.count === 0 && (
          <text class="empty" x={shown.width / 2} y={shown.height / 2}>
            The section misses the scan here.
          </text>
        )}
      </svg>
      <p class="readout" role="status">
        {words}
      </p>
      {stretching?.section === id && (
        <StretchCard
          session={session}
          now={stretching}
          at={toPixels(shown, onSheet(axes, stretching.at))}
          within={[shown.width, shown.height]}
        />
      )}
    </div>
  );
}

function pieceInWords({ kind, number, isWhole, length, size, rms }: PieceView): string {
  const what =
    kind === 'line'
      ? `line, ${length.toFixed(2)} mm long`
      : isWhole
        ? `circle, diameter ${sizeText(size!)} mm`
        : `arc, radius ${sizeText(size!)} mm, ${length.toFixed(2)} mm long`;
  return `${number === undefined ? '' : `piece ${number}: `}${what}, rms ${rms.toFixed(3)} mm`;
}

interface StrokeProps {
  readonly kind: string;
  readonly curve: Parameters<typeof pathOf>[0];
  readonly rig: SheetRig;
}

const Stroke = ({ kind, curve, rig }: StrokeProps): JSX.Element => (
  <path class={kind} d={pathOf(curve)} transform={sheetTransform(rig)} />
);

function Spot({ rig, at }: { readonly rig: SheetRig; readonly at: readonly [number, number] }): JSX.Element {
  const [cx, cy] = toPixels(rig, at);
  return <circle class="pick" cx={cx} cy={cy} r={4.5} />;
}

interface BoxProps {
  readonly corners: readonly [readonly [number, number], readonly [number, number]];
  readonly rig: SheetRig;
}

function Box({ corners, rig }: BoxProps): JSX.Element {
  const [[ax, ay], [bx, by]] = [toPixels(rig, corners[0]), toPixels(rig, corners[1])];
  const [x, y] = [Math.min(ax, bx), Math.min(ay, by)];
  return <rect class="box" x={x} y={y} width={Math.abs(bx - ax)} height={Math.abs(by - ay)} />;
}
