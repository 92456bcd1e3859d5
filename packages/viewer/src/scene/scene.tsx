import './scene.css';
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';
import { draftingOf } from '../choosing/drafting.js';
import type { Session } from '../session/session.js';
import { Balloons } from './balloon-layer.js';
import { CutHandle } from './cut-handle.js';
import { DraftCard } from './draft-card.js';
import { FrameLetters } from './frame-letters.js';
import { HandSettings } from './hand-settings.js';
import { followPointer, type PointerSurroundings, type Trail } from './pointer.js';
import { ResidualLegend } from './residual-legend.js';
import { sceneKeys } from './scene-keys.js';
import { SceneView } from './scene-view.js';
import { settingKeys } from './setting-keys.js';
import { Triad } from './triad.js';

const CANVAS_NAME =
  'The scan. Arrow keys turn it, with shift they shift it, plus and minus zoom. ' +
  'With a choosing hand they move a cross, and space chooses.';

/** The scan, what was found on it, and the hand that chooses. */
export function Scene({ session }: { readonly session: Session }): JSX.Element {
  const canvas = useRef<HTMLCanvasElement>(null);
  const view = useSignal<SceneView | undefined>(undefined);
  const trail = useSignal<Trail | undefined>(undefined);
  const card = useSignal<readonly [number, number]>([40, 40]);
  const cross = useSignal<readonly [number, number] | undefined>(undefined);
  const brush = useSignal(18);
  const through = useSignal(false);
  const hover = useSignal<readonly [number, number] | undefined>(undefined);
  const drafting = useMemo(() => draftingOf(session), [session]);

  useEffect(() => {
    const element = canvas.current!;
    const made = new SceneView(element, session);
    const around: PointerSurroundings = {
      session,
      drafting,
      view: made,
      brushRadius: () => brush.peek(),
      isThrough: () => through.peek(),
      showTrail: (shown) => {
        trail.value = shown;
      },
      hoversAt: (at) => {
        hover.value = at;
      },
      choseAt: (x, y) => {
        card.value = [x, y];
      },
    };
    const sizes = new ResizeObserver(() => made.resize(element.clientWidth, element.clientHeight));
    sizes.observe(element);
    const unfollow = followPointer(around);
    const unkey = sceneKeys(around, cross, trail);
    const unset = settingKeys({ session, drafting, view: made, brush, through });
    view.value = made;
    return () => {
      unset();
      unkey();
      unfollow();
      sizes.disconnect();
      made.dispose();
      view.value = undefined;
    };
  }, [session, drafting, brush, through, hover, trail, card, cross, view]);

  const shown = view.value;
  const hand = session.hand.value;
  return (
    <section class={`scene hand-${hand}`} aria-label="Scene">
      <canvas ref={canvas} tabIndex={0} aria-label={CANVAS_NAME} />
      {shown && session.scan.value && (
        <>
          <FrameLetters session={session} view={shown} />
          <Balloons session={session} view={shown} />
          <TrailLayer trail={trail.value} brush={brush.value} />
          {hover.value && <BrushRing at={hover.value} radius={brush.value} />}
          {cross.value && hand !== 'turn' && <Cross at={cross.value} />}
          <CutHandle session={session} view={shown} />
          <Triad session={session} view={shown} />
          <ResidualLegend session={session} view={shown} />
          <HandSettings session={session} drafting={drafting} view={shown} brush={brush} through={through} />
          <DraftCard session={session} drafting={drafting} at={card} view={shown} />
        </>
      )}
    </section>
  );
}

function TrailLayer({
  trail,
  brush,
}: {
  readonly trail: Trail | undefined;
  readonly brush: number;
}): JSX.Element | null {
  if (!trail) return null;
  const points =
    trail.kind === 'box' && trail.points.length > 1
      ? boxOf(trail.points)
      : trail.points.map((point) => point.join(',')).join(' ');
  return (
    <svg class={`trail ${trail.kind}`} aria-hidden="true">
      {trail.kind === 'brush' ? <polyline points={points} stroke-width={2 * brush} /> : <polygon points={points} />}
    </svg>
  );
}

const boxOf = (points: Trail['points']): string => {
  const [[ax, ay], [bx, by]] = [points[0]!, points.at(-1)!];
  return `${ax},${ay} ${bx},${ay} ${bx},${by} ${ax},${by}`;
};

/** How far the brush reaches about the pointer. */
const BrushRing = ({ at: [x, y], radius }: { readonly at: readonly [number, number]; readonly radius: number }) => (
  <svg class="ring" aria-hidden="true">
    <circle cx={x} cy={y} r={radius} />
  </svg>
);

function Cross({ at: [x, y] }: { readonly at: readonly [number, number] }): JSX.Element {
  return (
    <svg class="cross" aria-hidden="true">
      <path d={`M${x - 16},${y}h12M${x + 4},${y}h12M${x},${y - 16}v12M${x},${y + 4}v12`} />
    </svg>
  );
}
