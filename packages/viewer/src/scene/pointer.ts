import type { Vec3 } from '@fettle/geom';
import { rounded } from '../choosing/draft-steps.js';
import type { Drafting } from '../choosing/drafting.js';
import type { Session } from '../session/session.js';
import type { GrowLimits, Ray } from '../worker/protocol.js';
import { refusalOf } from '../worker/refusal.js';
import type { Rig } from './rig.js';
import type { SceneView } from './scene-view.js';
import { widenGrowing } from './setting-keys.js';

/** The trail a brush, a box or an outline leaves on the screen while it is drawn, pixels. */
export interface Trail {
  readonly kind: 'brush' | 'box' | 'outline';
  readonly points: readonly (readonly [number, number])[];
}

/** What the pointer needs beside the scene. */
export interface PointerSurroundings {
  readonly session: Session;
  readonly drafting: Drafting;
  readonly view: SceneView;
  /** Of the brush, pixels. */
  brushRadius(): number;
  /** Whether boxes and outlines choose all the way through. */
  isThrough(): boolean;
  showTrail(trail: Trail | undefined): void;
  /** Where the pointer hovers with a brush; undefined elsewhere. */
  hoversAt(at: readonly [number, number] | undefined): void;
  /** Where the last choice was made: the card of the fit goes there. */
  choseAt(x: number, y: number): void;
}

/** A press that moves less than this is a click, pixels. */
const STILL = 5;
/** Places along a stroke that are looked up on the scan. */
const MOST_STROKES = 40;

type Modifiers = { readonly shiftKey: boolean; readonly altKey: boolean };

/** Does what a hand asks; where it cannot be done the person is told. */
function attempt({ session }: PointerSurroundings, act: Promise<void>): void {
  act.catch((error: unknown) => session.say({ tone: 'refusal', ...refusalOf(error) }));
}

/** A question whose answer is heard later, or not at all. */
function answered<T>(asked: Promise<T>): Promise<T> {
  asked.catch(() => undefined);
  return asked;
}

/** Grows at a pixel, as a click or the space bar asks. */
export function growAt(around: PointerSurroundings, x: number, y: number, keys: Modifiers): void {
  const { session, drafting, view } = around;
  const { turn, spread } = session.grow.peek();
  const asked = answered(view.pick(x, y));
  const grow = drafting.inTurn(async () => {
    const hit = await asked;
    if (!hit) return;
    around.choseAt(x, y);
    view.preview.value = undefined;
    const takes = begin(drafting, keys);
    drafting.add({ takes, grow: { from: [rounded(hit.position)], turn, spread } });
  });
  attempt(around, grow);
}

/**
 * Without shift or alt a choice begins anew, unless the page is set to add or take away.
 *
 * @returns whether it takes away
 */
function begin(drafting: Drafting, { shiftKey, altKey }: Modifiers): boolean {
  const joining = altKey ? 'take' : shiftKey ? 'add' : drafting.joining.peek();
  if (joining === 'new') drafting.gestures.value = [];
  return joining === 'take';
}

/** Chooses what a trail drew, as it lay on the scan when it was drawn. */
export function chooseTrail(around: PointerSurroundings, trail: Trail, keys: Modifiers): void {
  const { drafting, view } = around;
  // The card goes beside all that was drawn, not over it.
  const [x, y] = trail.points.reduce((right, point) => (point[0] > right[0] ? point : right));
  if (trail.kind === 'brush') {
    const step = Math.max(1, Math.ceil(trail.points.length / MOST_STROKES));
    const few = trail.points.filter((_, i) => i % step === 0 || i === trail.points.length - 1);
    const asked = answered(Promise.all(few.map(([px, py]) => view.pick(px, py))));
    const radius = Math.max(0.001, Number((around.brushRadius() * view.rig.peek().scale).toPrecision(3)));
    const facing = !around.isThrough() && { facing: rounded(view.toEye) };
    const brush = drafting.inTurn(async () => {
      const stroke = (await asked).flatMap((hit) => (hit ? [rounded(hit.position)] : []));
      if (stroke.length === 0) return;
      around.choseAt(x, y);
      const takes = begin(drafting, keys);
      drafting.add({ takes, brush: { stroke, radius, ...facing } });
    });
    attempt(around, brush);
    return;
  }
  const corners = trail.kind === 'box' ? boxCorners(trail.points) : thinned(trail.points);
  if (corners.length < 3) return;
  const [ex, ey, ez] = view.toEye;
  const outline = {
    polygon: corners.map(([px, py]) => rounded(view.placeAt(px, py))),
    along: rounded([-ex, -ey, -ez]),
    ...(!around.isThrough() && { seen: true }),
  };
  const enclose = drafting.inTurn(async () => {
    around.choseAt(x, y);
    drafting.add({ takes: begin(drafting, keys), outline });
  });
  attempt(around, enclose);
}

function boxCorners(points: Trail['points']): Trail['points'] {
  const [ax, ay] = points[0]!;
  const [bx, by] = points.at(-1)!;
  if (Math.abs(ax - bx) < STILL || Math.abs(ay - by) < STILL) return [];
  return [
    [ax, ay],
    [bx, ay],
    [bx, by],
    [ax, by],
  ];
}

/** A corner every few pixels is as fine as a hand draws. */
function thinned(points: Trail['points']): Trail['points'] {
  const kept: (readonly [number, number])[] = [];
  for (const point of points) {
    const last = kept.at(-1);
    if (!last || Math.hypot(point[0] - last[0], point[1] - last[1]) >= 6) kept.push(point);
  }
  return kept;
}

interface Press {
  readonly button: number;
  readonly at: readonly [number, number];
  last: readonly [number, number];
  hasMoved: boolean;
  /**
   * The place on the scan under the pointer: what a turn goes about. Undefined until it is known, false where there is
   * none.
   */
  pivot?: Vec3 | false;
  /** How far the pointer went while it was not known, pixels. */
  owed: [number, number];
  /** Where the view looked from once this press had turned it. */
  turned?: Rig;
  trail?: (readonly [number, number])[];
}

/** How long a turn waits to learn what it goes about, ms; learnt later, the place is brought back under the pointer. */
const PATIENCE = 120;
/** How long a preview may take before it shows what it has, ms. */
const AT_ONCE = 25;

/** Mouse, pen, trackpad and fingers on the scene. @returns what takes the listeners off again */
export function followPointer(around: PointerSurroundings): () => void {
  const { session, view } = around;
  const { canvas } = view;
  const presses = new Map<number, Press>();
  const place = (event: PointerEvent | WheelEvent): readonly [number, number] => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  let hovering: readonly [number, number] | undefined;
  let isPreviewing = false;

  /** Shows what growing here would choose; one question at a time, the last place wins. */
  async function preview(): Promise<void> {
    if (isPreviewing) return;
    isPreviewing = true;
    try {
      while (hovering) {
        const [x, y] = hovering;
        hovering = undefined;
        if (session.hand.peek() !== 'grow' || presses.size > 0 || around.drafting.isBusy.peek()) break;
        const ray = view.rayAt(x, y);
        const grow = session.grow.peek();
        const found = ray && (await session.measurer.glimpse(ray, grow, AT_ONCE));
        if (presses.size > 0 || around.drafting.isBusy.peek()) break;
        view.preview.value = found?.points;
        if (ray && found?.isPart && !hovering) void completePreview(ray, grow);
      }
    } catch {
      view.preview.value = undefined;
    } finally {
      isPreviewing = false;
    }
  }

  /** While the pointer rests all that growing would choose follows; the next glimpse makes it moot. */
  async function completePreview(ray: Ray, grow: GrowLimits): Promise<void> {
    const found = await session.measurer.glimpse(ray, grow).catch(() => undefined);
    const isWanted = presses.size === 0 && view.preview.peek() !== undefined && !around.drafting.isBusy.peek();
    if (found && !found.moot && isWanted) view.preview.value = found.points;
  }

  const stopPreview = (): void => {
    hovering = undefined;
    view.preview.value = undefined;
  };

  const down = (event: PointerEvent): void => {
    canvas.setPointerCapture(event.pointerId);
    const at = place(event);
    const press: Press = { button: event.button, at, last: at, hasMoved: false, owed: [0, 0] };
    presses.set(event.pointerId, press);
    const hand = session.hand.peek();
    if (event.button === 0 && presses.size === 1 && (hand === 'brush' || hand === 'box' || hand === 'outline'))
      press.trail = [at];
    if (presses.size > 1) {
      // A second finger: neither brush nor box any more, nor a click.
      for (const other of presses.values()) {
        delete other.trail;
        other.hasMoved = true;
      }
      around.showTrail(undefined);
    }
    void findPivot(press);
  };

  /**
   * Looks for the place under the pointer; while the worker is busy with something else the middle of the scan has to
   * do.
   */
  async function findPivot(press: Press): Promise<void> {
    const asked = view.pick(...press.at).catch(() => undefined);
    const late = new Promise<'late'>((resolve) => setTimeout(() => resolve('late'), PATIENCE));
    const hit = await Promise.race([asked, late]);
    press.pivot = hit && hit !== 'late' ? hit.position : false;
    orbit(press, 0, 0);
    if (hit !== 'late') return;
    const found = await asked;
    if (found) bringBack(press, found.position);
  }

  /** Puts the place that was pressed under the pointer again, unless the view went on otherwise, and turns about it from now on. */
  function bringBack(press: Press, pivot: Vec3): void {
    press.pivot = pivot;
    if (press.turned === undefined || press.turned !== view.rig.peek()) return;
    const [x, y] = view.pixelOf(pivot);
    view.pan(press.at[0] - x, press.at[1] - y);
    press.turned = view.rig.peek();
  }

  function orbit(press: Press, dx: number, dy: number): void {
    const [x, y] = press.owed;
    press.owed = press.pivot === undefined ? [x + dx, y + dy] : [0, 0];
    if (x + dx === 0 && y + dy === 0) return;
    view.stir();
    if (press.pivot === undefined) return;
    view.orbit(press.pivot || undefined, x + dx, y + dy);
    press.turned = view.rig.peek();
  }

  const move = (event: PointerEvent): void => {
    const at = place(event);
    const press = presses.get(event.pointerId);
    around.hoversAt(session.hand.peek() === 'brush' && event.pointerType !== 'touch' ? at : undefined);
    if (!press) {
      const joins = event.shiftKey || event.altKey || around.drafting.joining.peek() !== 'new';
      const draws = session.draft.peek() && !joins;
      if (session.hand.peek() === 'grow' && session.scan.peek() && !draws && event.pointerType !== 'touch') {
        hovering = at;
        void preview();
      } else if (view.preview.peek()) stopPreview();
      return;
    }
    const [dx, dy] = [at[0] - press.last[0], at[1] - press.last[1]];
    if (!press.hasMoved && Math.hypot(at[0] - press.at[0], at[1] - press.at[1]) < STILL) return;
    if (!press.hasMoved) stopPreview();
    press.hasMoved = true;
    if (presses.size === 2) {
      const other = [...presses.values()].find((one) => one !== press)!;
      const before = Math.hypot(press.last[0] - other.last[0], press.last[1] - other.last[1]);
      const now = Math.hypot(at[0] - other.last[0], at[1] - other.last[1]);
      view.pan(dx / 2, dy / 2);
      if (before > 10) view.zoom(now / before, (at[0] + other.last[0]) / 2, (at[1] + other.last[1]) / 2);
    } else if (press.trail) {
      press.trail.push(at);
      around.showTrail({ kind: session.hand.peek() as Trail['kind'], points: [...press.trail] });
    } else if (press.button === 1 || event.shiftKey || (press.button === 2 && session.hand.peek() === 'turn'))
      view.pan(dx, dy);
    else orbit(press, dx, dy);
    press.last = at;
  };

  const up = (event: PointerEvent): void => {
    const press = presses.get(event.pointerId);
    presses.delete(event.pointerId);
    if (!press || event.type === 'pointercancel') {
      around.showTrail(undefined);
      return;
    }
    if (press.trail) {
      const kind = session.hand.peek() as Trail['kind'];
      const points = press.trail;
      around.showTrail(undefined);
      if (points.length > 1 || kind === 'brush') chooseTrail(around, { kind, points }, event);
    } else if (!press.hasMoved && press.button === 0 && session.hand.peek() === 'grow') {
      growAt(around, ...press.at, event);
    }
  };

  const wheel = (event: WheelEvent): void => {
    event.preventDefault();
    if (session.hand.peek() === 'grow' && event.altKey) {
      widenGrowing(session, event.deltaY < 0);
      hovering = place(event);
      void preview();
      return;
    }
    // A pinch on a trackpad comes as a wheel with ctrl, in finer steps.
    const rate = event.ctrlKey ? 0.01 : event.deltaMode === 1 ? 0.05 : 0.0015;
    view.zoom(Math.exp(-event.deltaY * rate), ...place(event));
  };

  const leave = (): void => {
    around.hoversAt(undefined);
    stopPreview();
  };
  const noMenu = (event: Event): void => event.preventDefault();
  canvas.addEventListener('pointerdown', down);
  canvas.addEventListener('pointermove', move);
  canvas.addEventListener('pointerup', up);
  canvas.addEventListener('pointercancel', up);
  canvas.addEventListener('pointerleave', leave);
  canvas.addEventListener('wheel', wheel, { passive: false });
  canvas.addEventListener('contextmenu', noMenu);
  return () => {
    canvas.removeEventListener('pointerdown', down);
    canvas.removeEventListener('pointermove', move);
    canvas.removeEventListener('pointerup', up);
    canvas.removeEventListener('pointercancel', up);
    canvas.removeEventListener('pointerleave', leave);
    canvas.removeEventListener('wheel', wheel);
    canvas.removeEventListener('contextmenu', noMenu);
  };
}
