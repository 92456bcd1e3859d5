import type { Vec3 } from '@fettle/geom';
import { effect, type Signal, signal, untracked } from '@preact/signals';
import { Sphere, Vector3 } from 'three';
import type { Session } from '../session/session.js';
import type { Pick, Ray } from '../worker/protocol.js';
import { Curves } from './curves.js';
import { firstLook } from './first-look.js';
import { Painter } from './painter.js';
import {
  backOf,
  behind,
  fitted,
  lookingFrom,
  orbited,
  panned,
  pixelOf,
  placeAt,
  type Rig,
  rayAt,
  zoomed,
} from './rig.js';
import { type SceneColors, sceneColors, watchScheme } from './scene-colors.js';
import { linesShown } from './scene-lines.js';
import { marksShown, type SelectedPoints, selectedPoints } from './scene-marks.js';
import { type ClipPlane, Surface } from './surface.js';
import { warmUp } from './warm-up.js';

/** The map of residuals that is shown. */
export interface ResidualMap {
  readonly id: string;
  /** Ends of the scale, ± mm. */
  readonly range: number;
}

const START: Rig = { center: [0, 0, 0], right: [1, 0, 0], up: [0, 1, 0], scale: 1, width: 1, height: 1 };
/** How long after the last move the full scan is drawn again, ms. */
const AT_REST = 180;
/** A card that takes longer for the full scan does not draw it while a preview follows the pointer, ms. */
const SLOW = 60;
/** Length of the axes of frames, as a share of the scan's size. */
const AXES = 0.17;
/** A place is hidden if the scan stands before it by more than this share of the scan's size. */
const HIDDEN = 0.01;

/**
 * The scan and what was found on it, drawn and moved. What it shows follows from the session; where it looks from is
 * its own.
 */
export class SceneView {
  readonly rig: Signal<Rig> = signal(START);
  readonly map: Signal<ResidualMap | undefined> = signal(undefined);
  /** Points a hovering hand would choose. */
  readonly preview: Signal<Uint32Array | undefined> = signal(undefined);
  /** Until a moment after the last move. */
  readonly isMoving = signal(false);
  readonly painted = signal(false);
  readonly isPaintable = signal(false);
  readonly isClipping = signal(true);
  readonly #painter: Painter;
  readonly #curves = new Curves();
  readonly #stops: (() => void)[] = [];
  readonly #selected = signal<SelectedPoints | undefined>(undefined);
  readonly #colors: Signal<SceneColors> = signal(sceneColors());
  readonly #surface = signal<Surface | undefined>(undefined);
  #away = 1000;
  #middle: Vec3 = [0, 0, 0];
  #cutAway: ClipPlane | undefined;
  #resting: ReturnType<typeof setTimeout> | undefined;
  /** A preview was shown a moment ago, on a card that is slow. */
  readonly #isLively = signal(false);
  #isSlow = false;
  #calming: ReturnType<typeof setTimeout> | undefined;

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
      restored: () => this.#makeSurface(),
      drawn: ({ triangles, points, took }) => {
        const surface = this.#surface.peek();
        if (surface && triangles + points >= surface.size) this.#isSlow = took > SLOW;
      },
    });
    this.#painter.scene.add(this.#curves.group);
    void this.#painter.addOncePrepared(warmUp(this.#colors.peek()));
    this.#stops.push(
      effect(() => {
        session.scan.value;
        untracked(() => {
          this.#makeSurface();
          this.#firstLook();
        });
      }),
      effect(() => {
        const isBehind = this.#painter.isBehind.value || this.isMoving.value || this.#isLively.value;
        canvas.setAttribute('aria-busy', String(isBehind));
      }),
      effect(() => this.#recolor()),
      effect(() => void this.#fetchSelected()),
      effect(() => this.#showMarks()),
      effect(() => this.#showLines()),
      effect(() => this.#clip()),
      effect(() => {
        if (session.cutting.value) this.stir();
      }),
      effect(() => {
        if (this.preview.value) this.#enliven();
      }),
      effect(() => {
        const surface = this.#surface.value;
        surface?.showReduced(this.isMoving.value || this.#isLively.value);
        if (surface?.hasReduced) this.#painter.invalidate();
      }),
      effect(() => {
        this.#surface.value?.setPainted(this.painted.value);
        this.#painter.invalidate();
      }),
      effect(() => {
        const rig = this.rig.value;
        this.#surface.value?.setPointSize(rig.scale);
        this.#painter.look(rig, this.#awayFrom(rig), this.#surface.value?.origin ?? [0, 0, 0]);
      }),
      watchScheme(() => {
        this.#colors.value = sceneColors();
      }),
    );
  }

  /**
   * Takes the size the canvas has on the page. The scale follows its shorter side, so that what was seen stays seen, and the picture is
   * as large as before once a drawing that was laid beside it is put away.
   */
  resize(width: number, height: number): void {
    const before = this.rig.peek();
    if (width < 1 || height < 1 || (width === before.width && height === before.height)) return;
    this.#painter.resize({ width, height, ratio: Math.min(2, window.devicePixelRatio || 1) });
    const grown = Math.min(width, height) / Math.min(before.width, before.height);
    this.rig.value = { ...before, width, height, scale: before.scale / grown };
    if (before.width < 2) this.#firstLook();
  }

  /** Sets where it looks from, drawing the reduced scan until it rests. */
  move(rig: Rig): void {
    this.rig.value = rig;
    this.stir();
  }

  /** Until a moment after the last call the reduced scan is drawn. */
  stir(): void {
    this.isMoving.value = true;
    clearTimeout(this.#resting);
    this.#resting = setTimeout(() => {
      this.isMoving.value = false;
    }, AT_REST);
  }

  /** Until a moment after the last call the reduced scan is drawn, where the card is slow with the full one. */
  #enliven(): void {
    if (!this.#isSlow) return;
    this.#isLively.value = true;
    clearTimeout(this.#calming);
    this.#calming = setTimeout(() => {
      this.#isLively.value = false;
    }, AT_REST);
  }

  orbit(about: Vec3 | undefined, dx: number, dy: number): void {
    this.move(orbited(this.rig.peek(), about ?? this.#middle, dx, dy));
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
    const surface = this.session.scan.peek()?.surface;
    if (surface) this.move(fitted(this.rig.peek(), surface.positions, surface.origin));
  }

  /** The place on the scan, as far as it is not cut away, that a pixel shows. */
  async pick(x: number, y: number): Promise<Pick | undefined> {
    const ray = this.rayAt(x, y);
    return ray && (await this.session.measurer.pick(ray));
  }

  /** Through a pixel, from where what is shown begins; undefined where all is cut away. */
  rayAt(x: number, y: number): Ray | undefined {
    const rig = this.rig.peek();
    // For clouds a ray takes what is shown within some pixels of it.
    const ray = { ...rayAt(rig, x, y, this.#awayFrom(rig)), reach: 4 * rig.scale };
    return this.#cutAway ? behind(ray, this.#cutAway) : ray;
  }

  /** Whether the scan stands before a place. */
  async hides(place: Vec3): Promise<boolean> {
    const ray = this.rayAt(...this.pixelOf(place));
    const hit = ray && (await this.session.measurer.pick(ray).catch(() => undefined));
    if (!hit) return false;
    const depth = (at: Vec3): number => at.reduce((sum, c, k) => sum - c * this.toEye[k]!, 0);
    return depth(hit.position) < depth(place) - HIDDEN * this.#away;
  }

  placeAt = (x: number, y: number): Vec3 => placeAt(this.rig.peek(), x, y);
  pixelOf = (place: Vec3): readonly [number, number] => pixelOf(this.rig.peek(), place);
  get toEye(): Vec3 {
    return backOf(this.rig.peek());
  }

  /** How long the axes of frames are drawn, mm. */
  get axisLength(): number {
    return 2 * AXES * this.#away;
  }

  /** How far from the middle of the picture an eye stands that has all of the scan before it. */
  #awayFrom({ center }: Rig): number {
    return this.#away + Math.hypot(...center.map((c, k) => c - this.#middle[k]!));
  }

  #firstLook(): void {
    const scan = this.session.scan.peek();
    if (scan) this.lookFrom(firstLook(scan.surface), [0, 0, 1]);
  }

  /** Puts the scan on the graphics card, from what the page holds. */
  #makeSurface(): void {
    const before = this.#surface.peek();
    if (before) {
      this.#painter.scene.remove(before.group);
      before.dispose();
    }
    const scan = this.session.scan.peek();
    this.isPaintable.value = scan?.surface.colors !== undefined;
    if (!scan) {
      this.#surface.value = undefined;
      this.#painter.bring(undefined);
      return;
    }
    const { min, max } = scan.bounds;
    const radius = Math.hypot(max[0] - min[0], max[1] - min[1], max[2] - min[2]) / 2 || 1;
    this.#middle = [0, 1, 2].map((k) => (min[k]! + max[k]!) / 2) as unknown as Vec3;
    this.#away = 1.05 * radius;
    const { origin } = scan.surface;
    const sphere = new Sphere(new Vector3(...this.#middle.map((c, k) => c - origin[k]!)), radius);
    const made = new Surface(scan.surface, scan.reduced, sphere, this.#colors.peek().surface);
    this.#painter.scene.add(made.group);
    this.#painter.bring(made.upload(() => this.#painter.invalidate()));
    this.#surface.value = made;
  }

  #recolor(): void {
    const { paper, surface } = this.#colors.value;
    this.#painter.setBackground(paper);
    this.#surface.value?.recolor(surface);
    this.#painter.invalidate();
  }

  /** The points of the row selected last, fetched when there is one with points. */
  async #fetchSelected(): Promise<void> {
    const run = this.session.run.value;
    const id = this.session.selected.value.at(-1);
    const step = run.steps.find((view) => view.id === id);
    if (!step || step.refusal || (step.step !== 'region' && step.step !== 'fit')) {
      this.#selected.value = undefined;
      return;
    }
    if (untracked(() => this.#selected.value?.id) !== step.id) this.#selected.value = undefined;
    try {
      const view = await this.session.measurer.points(step.id);
      if (this.session.run.peek() === run && this.session.selected.peek().at(-1) === step.id)
        this.#selected.value = selectedPoints(step.id, view);
    } catch {
      // The plan went on meanwhile: the next run asks again.
    }
  }

  #showMarks(): void {
    const surface = this.#surface.value;
    const selected = this.#selected.value;
    const draft = this.session.draft.value;
    if (selected?.range !== undefined) surface?.setRange(selected.range);
    surface?.mark(marksShown(selected, draft, this.preview.value));
    const map = selected?.range !== undefined && !draft ? { id: selected.id, range: selected.range } : undefined;
    if (map?.id !== this.map.peek()?.id || map?.range !== this.map.peek()?.range) this.map.value = map;
    this.#painter.invalidate();
  }

  #showLines(): void {
    const lines = linesShown(this.session, this.#colors.value, this.axisLength);
    this.#curves.show(this.#surface.value ? lines : [], this.#surface.value?.origin ?? [0, 0, 0]);
    this.#painter.invalidate();
  }

  /** What lies on the near side of the section shown is hidden, whichever side that is. */
  #clip(): void {
    const { session } = this;
    const cutting = session.cutting.value;
    const shown = session.run.value.steps.find(({ id }) => id === session.section.value);
    const section = cutting ? cutting.view?.section : shown?.section;
    this.#cutAway = undefined;
    if (this.isClipping.value && section) {
      const back = backOf(this.rig.value);
      const faces = section.normal.reduce((sum, n, k) => sum + n * back[k]!, 0);
      const normal = section.normal.map((n) => (faces < 0 ? -n : n)) as unknown as Vec3;
      this.#cutAway = { point: section.origin, normal };
    }
    this.#surface.value?.clip(this.#cutAway);
    this.#painter.invalidate();
  }

  dispose(): void {
    for (const stop of this.#stops) stop();
    clearTimeout(this.#resting);
    clearTimeout(this.#calming);
    this.#surface.peek()?.dispose();
    this.#curves.dispose();
    this.#painter.dispose();
  }
}
