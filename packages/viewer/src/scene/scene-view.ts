import type { Vec3 } from '@fettle/geom';
import { residualRange } from '@fettle/io';
import { effect, type Signal, signal } from '@preact/signals';
import { Sphere, Vector3 } from 'three';
import type { Session } from '../session/session.js';
import type { PointsView, SectionView, StepView } from '../worker/protocol.js';
import { type CurveSet, Curves } from './curves.js';
import { Painter } from './painter.js';
import { backOf, fitted, lookingFrom, orbited, panned, pixelOf, placeAt, type Rig, rayAt, zoomed } from './rig.js';
import { sceneColors, watchScheme } from './scene-colors.js';
import { MARK, Surface } from './surface.js';

/** The map of residuals that is shown. */
export interface ResidualMap {
  readonly id: string;
  /** Ends of the scale, ± mm. */
  readonly range: number;
}

const START: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 1, width: 1, height: 1 };
/** How long after the last move the full scan is drawn again, ms. */
const AT_REST = 180;

/** The scan and what was found on it, drawn and moved. What it shows follows from the session; where it looks from is its own. */
export class SceneView {
  readonly rig: Signal<Rig> = signal(START);
  readonly map: Signal<ResidualMap | undefined> = signal(undefined);
  /** Points a hovering hand would choose. */
  readonly preview: Signal<Uint32Array | undefined> = signal(undefined);
  readonly painted = signal(false);
  readonly isPaintable = signal(false);
  readonly isClipping = signal(true);
  readonly #painter: Painter;
  readonly #curves = new Curves();
  readonly #stops: (() => void)[] = [];
  #surface: Surface | undefined;
  #away = 1000;
  #middle: Vec3 = [0, 0, 0];
  #resting: ReturnType<typeof setTimeout> | undefined;
  #pointsOf: { readonly id: string; readonly run: object; readonly view: PointsView } | undefined;
  readonly #selectedPoints = signal(0);

  constructor(
    readonly canvas: HTMLCanvasElement,
    readonly session: Session,
  ) {
    this.#painter = new Painter(canvas, {
      lost: () =>
        session.say({
          tone: 'word',
          message: 'The graphics card went away. The picture comes back by itself; nothing is lost.',
        }),
      restored: () => this.#showScan(),
    });
    this.#painter.scene.add(this.#curves.group);
    this.#stops.push(
      effect(() => {
        session.scan.value;
        this.#showScan();
        this.showAll();
      }),
      effect(() => this.#showMarks()),
      effect(() => this.#showCurves()),
      effect(() => this.#clip()),
      effect(() => {
        this.painted.value;
        this.#surface?.setPainted(this.painted.value);
        this.#painter.invalidate();
      }),
      effect(() => {
        const rig = this.rig.value;
        const off = rig.center.map((c, k) => c - this.#middle[k]!);
        this.#painter.look(rig, this.#away + Math.hypot(...off), this.#surface?.origin ?? [0, 0, 0]);
      }),
      effect(() => void this.#fetchSelected()),
      watchScheme(() => this.#recolor()),
    );
    this.#recolor();
  }

  get frames(): number {
    return this.#painter.frames;
  }

  resize(width: number, height: number): void {
    const before = this.rig.peek();
    this.#painter.resize(width, height, Math.min(2, window.devicePixelRatio || 1));
    const grown = before.width < 2 ? 1 : Math.min(width / before.width, height / before.height);
    this.rig.value = { ...before, width, height, scale: before.scale / grown };
    if (before.width < 2) this.showAll();
  }

  /** Sets where it looks from, drawing the reduced scan until it rests. */
  move(rig: Rig): void {
    this.rig.value = rig;
    if (!this.#surface?.hasReduced) return;
    this.#surface.showReduced(true);
    clearTimeout(this.#resting);
    this.#resting = setTimeout(() => {
      this.#surface?.showReduced(false);
      this.#painter.invalidate();
    }, AT_REST);
  }

  orbit(about: Vec3 | undefined, dx: number, dy: number): void {
    this.move(orbited(this.rig.peek(), about ?? this.rig.peek().center, dx, dy));
  }
  pan(dx: number, dy: number): void {
    this.move(panned(this.rig.peek(), dx, dy));
  }
  zoom(factor: number, x?: number, y?: number): void {
    this.move(zoomed(this.rig.peek(), factor, x, y));
  }
  lookFrom(toEye: Vec3, up: Vec3): void {
    this.move(lookingFrom(this.rig.peek(), toEye, up));
    this.showAll();
  }
  showAll(): void {
    const scan = this.session.scan.peek();
    if (scan) this.move(fitted(this.rig.peek(), scan.bounds));
  }

  rayAt(x: number, y: number): { readonly from: Vec3; readonly direction: Vec3; readonly reach: number } {
    const rig = this.rig.peek();
    const off = rig.center.map((c, k) => c - this.#middle[k]!);
    // For clouds a ray takes what is shown within some pixels of it.
    return { ...rayAt(rig, x, y, this.#away + Math.hypot(...off)), reach: 4 * rig.scale };
  }
  placeAt = (x: number, y: number): Vec3 => placeAt(this.rig.peek(), x, y);
  pixelOf = (place: Vec3): readonly [number, number] => pixelOf(this.rig.peek(), place);
  get toEye(): Vec3 {
    return backOf(this.rig.peek());
  }

  #showScan(): void {
    if (this.#surface) {
      this.#painter.scene.remove(this.#surface.group);
      this.#surface.dispose();
      this.#surface = undefined;
    }
    const scan = this.session.scan.peek();
    this.isPaintable.value = false;
    if (!scan) {
      this.#painter.invalidate();
      return;
    }
    const { min, max } = scan.bounds;
    const radius = Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]) / 2 || 1;
    this.#middle = [0, 1, 2].map((k) => (min[k]! + max[k]!) / 2) as unknown as Vec3;
    this.#away = 1.05 * radius;
    const { origin } = scan.surface;
    const center = new Vector3(...this.#middle.map((c, k) => c - origin[k]!));
    this.#surface = new Surface(scan.surface, scan.reduced, new Sphere(center, radius), sceneColors().surface);
    this.isPaintable.value = this.#surface.isPaintable;
    this.#surface.setPainted(this.painted.peek());
    this.#painter.scene.add(this.#surface.group);
    this.#showMarks();
    this.#clip();
    this.#painter.invalidate();
  }

  #recolor(): void {
    const colors = sceneColors();
    this.#painter.setBackground(colors.paper);
    this.#surface?.recolor(colors.surface);
    this.#showCurves();
    this.#painter.invalidate();
  }

  /** The points of the row selected last, fetched when there is one with points. */
  async #fetchSelected(): Promise<void> {
    const run = this.session.run.value;
    const id = this.session.selected.value.at(-1);
    const step = run.steps.find((view) => view.id === id);
    if (!step || step.refusal || (step.step !== 'region' && step.step !== 'fit')) {
      this.#pointsOf = undefined;
      this.#selectedPoints.value++;
      return;
    }
    if (this.#pointsOf?.id === step.id && this.#pointsOf.run === run) return;
    try {
      const view = await this.session.measurer.points(step.id);
      if (this.session.run.peek() !== run || this.session.selected.peek().at(-1) !== step.id) return;
      this.#pointsOf = { id: step.id, run, view };
      this.#selectedPoints.value++;
    } catch {
      // The plan went on meanwhile: the next run asks again.
    }
  }

  #showMarks(): void {
    const draft = this.session.draft.value;
    const preview = this.preview.value;
    this.#selectedPoints.value;
    const surface = this.#surface;
    if (!surface) return;
    const marks: { points: Uint32Array; mark: number; residuals?: Float32Array }[] = [];
    const selected = this.#pointsOf;
    let map: ResidualMap | undefined;
    if (selected && !draft) {
      const { points, residuals, rejected } = selected.view;
      if (residuals) {
        map = { id: selected.id, range: residualRange(Float64Array.from(residuals)) };
        surface.setRange(map.range);
        marks.push({ points, mark: MARK.mapped, residuals });
      } else marks.push({ points, mark: MARK.selected });
      if (rejected) marks.push({ points: rejected, mark: MARK.rejected });
    }
    if (draft?.choice) marks.push({ points: draft.choice.points, mark: MARK.draft });
    if (preview) marks.push({ points: preview, mark: MARK.draft });
    surface.mark(marks);
    this.map.value = map;
    this.#painter.invalidate();
  }

  #showCurves(): void {
    const { session } = this;
    const run = session.run.value;
    const selected = session.selected.value;
    const cutting = session.cutting.value;
    const tried = session.triedFrame.value;
    const draft = session.draft.value;
    const shownSection = session.section.value;
    const surface = this.#surface;
    if (!surface) return;
    const { ink, accent, datum } = sceneColors();
    const sets: CurveSet[] = [];
    const add = (
      lines: CurveSet['lines'],
      color: CurveSet['color'],
      isOver: boolean,
      closed?: readonly boolean[],
    ): void => {
      if (lines.length > 0) sets.push({ lines, color, isOver, ...(closed && { closed }) });
    };
    const addSection = ({ polylines }: SectionView, color: CurveSet['color']): void =>
      add(
        polylines.map(({ points }) => points),
        color,
        true,
        polylines.map(({ closed }) => closed),
      );
    const isSelected = (view: StepView): boolean => selected.includes(view.id);
    for (const view of run.steps) {
      if (view.drawn) add(view.drawn.lines, isSelected(view) ? accent : ink, isSelected(view));
      if (view.between) add([Float32Array.from(view.between.flat())], isSelected(view) ? accent : ink, true);
      if (view.section && !cutting && (isSelected(view) || view.id === shownSection)) addSection(view.section, accent);
      if (view.matrix && !tried) this.#addAxes(view.matrix, datum, add);
    }
    if (cutting?.view?.section) addSection(cutting.view.section, accent);
    if (tried) this.#addAxes(tried, datum, add);
    if (draft?.fit?.view?.drawn) add(draft.fit.view.drawn.lines, accent, true);
    this.#curves.show(sets, surface.origin);
    this.#painter.invalidate();
  }

  #addAxes(
    matrix: Float64Array,
    color: CurveSet['color'],
    add: (l: CurveSet['lines'], c: CurveSet['color'], o: boolean) => void,
  ): void {
    const length = 0.18 * this.#away;
    const origin = [matrix[12]!, matrix[13]!, matrix[14]!];
    const lines = [0, 1, 2].map((axis) =>
      Float32Array.from([...origin, ...origin.map((o, k) => o + length * matrix[4 * axis + k]!)]),
    );
    add(lines, color, true);
  }

  /** What lies on the near side of the section shown is hidden, whichever side that is. */
  #clip(): void {
    const { session } = this;
    const cutting = session.cutting.value;
    const shown = session.run.value.steps.find(({ id }) => id === session.section.value);
    const section = cutting?.view?.section ?? shown?.section;
    const isOn = this.isClipping.value && section !== undefined;
    if (isOn) {
      const back = backOf(this.rig.value);
      const faces = section.normal.reduce((sum, n, k) => sum + n * back[k]!, 0);
      const normal = section.normal.map((n) => (faces < 0 ? -n : n)) as unknown as Vec3;
      this.#surface?.clip({ point: section.origin, normal });
    } else this.#surface?.clip(undefined);
    this.#painter.invalidate();
  }

  dispose(): void {
    for (const stop of this.#stops) stop();
    clearTimeout(this.#resting);
    this.#surface?.dispose();
    this.#curves.dispose();
    this.#painter.dispose();
  }
}
