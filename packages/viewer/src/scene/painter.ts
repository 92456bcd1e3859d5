import type { Vec3 } from '@fettle/geom';
import { type ReadonlySignal, signal } from '@preact/signals';
import { Color, Matrix4, type Object3D, OrthographicCamera, Scene, Vector3, WebGLRenderer } from 'three';
import { Backlog } from './backlog.js';
import { backOf, type Rig } from './rig.js';
import type { Upload } from './upload.js';

/** A picture the graphics card has done. */
export interface Drawn {
  readonly triangles: number;
  readonly points: number;
  /** From when it was asked for, ms, as the page sees it: to the nearest frame. */
  readonly took: number;
}

/** Of the canvas, CSS pixels, and how many of the card's pixels go to each. */
export interface Size {
  readonly width: number;
  readonly height: number;
  readonly ratio: number;
}

/** What those who use a {@link Painter} hear of it. */
export interface PainterTold {
  lost(): void;
  restored(): void;
  drawn(picture: Drawn): void;
}

/**
 * Draws the scene on a canvas, once after each change and never between; a change made while the card is still drawing waits until it
 * is done, so that pictures nobody sees any more do not queue up. The canvas shows nothing while the graphics card is away; when it
 * comes back all is drawn again from what the page holds.
 */
export class Painter {
  readonly scene = new Scene();
  readonly #isBehind = signal(true);
  /** While the canvas does not show yet what it is to show. */
  readonly isBehind: ReadonlySignal<boolean> = this.#isBehind;
  /** How many things wait for their programs. */
  #prepared = 0;
  #rig: Rig | undefined;
  #away = 1000;
  #origin: Vec3 = [0, 0, 0];
  #asked = 0;
  #isStale = false;
  /** Asked for and not taken yet. */
  #size: Size | undefined;
  #buffer: Size = { width: 0, height: 0, ratio: 1 };
  #upload: Upload | undefined;
  #background = new Color();
  /** What is being drawn. */
  #drawing: Omit<Drawn, 'took'> | undefined;
  readonly #camera = new OrthographicCamera();
  readonly #renderer: WebGLRenderer;
  readonly #gl: WebGL2RenderingContext;
  readonly #backlog: Backlog;
  readonly #told: PainterTold;

  constructor(
    readonly canvas: HTMLCanvasElement,
    told: PainterTold,
  ) {
    this.#told = told;
    this.#renderer = new WebGLRenderer({ canvas, antialias: true });
    this.#gl = this.#renderer.getContext() as WebGL2RenderingContext;
    this.#backlog = new Backlog(this.#gl);
    // Asking how shaders fared waits for them, and with them the page; while the page is worked on it may.
    this.#renderer.debug.checkShaderErrors = import.meta.env.DEV;
    this.#camera.matrixAutoUpdate = false;
    canvas.addEventListener('webglcontextlost', (event) => {
      event.preventDefault();
      this.#upload = undefined;
      this.#drawing = undefined;
      this.#backlog.forget();
      told.lost();
    });
    canvas.addEventListener('webglcontextrestored', () => {
      // three makes these anew, black and whole.
      this.#renderer.setClearColor(this.#background, 1);
      this.#renderer.setScissorTest(this.#buffer.width > 0);
      told.restored();
      this.invalidate();
    });
  }

  /** Adds what is to be drawn once its programs are made, which the page does not wait for. */
  async addOncePrepared(what: Object3D): Promise<void> {
    this.#prepared++;
    if (this.#gl.getExtension('KHR_parallel_shader_compile'))
      await this.#renderer.compileAsync(what, this.#camera, this.scene);
    this.#prepared--;
    this.scene.add(what);
    this.invalidate();
  }

  setBackground(color: Color): void {
    this.#background = color;
    this.#renderer.setClearColor(color, 1);
  }

  /** @param away how far from the center the eye stands, mm: beyond all of the scan */
  look(rig: Rig, away: number, origin: Vec3): void {
    this.#rig = rig;
    this.#away = away;
    this.#origin = origin;
    this.invalidate();
  }

  resize(size: Size): void {
    this.#size = size;
    this.invalidate();
  }

  /** Brings something to the card, in the place of what is on its way. */
  bring(upload: Upload | undefined): void {
    this.#upload = upload;
    this.#ask();
  }

  invalidate(): void {
    this.#isStale = true;
    this.#ask();
  }

  #ask(): void {
    this.#isBehind.value = true;
    this.#asked ||= requestAnimationFrame(() => {
      this.#asked = 0;
      this.#frame();
    });
  }

  #frame(): void {
    if (this.#gl.isContextLost()) return;
    if (!this.#backlog.isDone()) {
      this.#ask();
      return;
    }
    if (this.#drawing) this.#told.drawn({ ...this.#drawing, took: this.#backlog.age });
    this.#drawing = undefined;
    if (this.#size) this.#resize(this.#size);
    this.#size = undefined;
    if (!this.#isStale && !this.#upload) {
      this.#isBehind.value = this.#prepared > 0;
      return;
    }
    if (this.#upload?.go(this.#gl)) this.#upload = undefined;
    if (this.#isStale) this.#draw();
    this.#backlog.mark();
    this.#ask();
  }

  /**
   * A canvas that lost height or width alone keeps its buffer, whose upper left it then shows as its style says: changing a buffer
   * waits for the card, and the drawing of a section comes and goes below the scene.
   */
  #resize({ width, height, ratio }: Size): void {
    const { width: wide, height: high, ratio: before } = this.#buffer;
    const fits = ratio === before && (width === wide ? height <= high : width < wide && height === high);
    if (!fits) {
      this.#renderer.setDrawingBufferSize(width, height, ratio);
      this.#buffer = { width, height, ratio };
    }
    const below = this.#buffer.height - height;
    this.#renderer.setViewport(0, below, width, height);
    this.#renderer.setScissor(0, below, width, height);
    this.#renderer.setScissorTest(true);
    this.#isStale = true;
  }

  #draw(): void {
    this.#isStale = false;
    const rig = this.#rig;
    if (!rig || this.#buffer.width < 1) return;
    const half = [(rig.width * rig.scale) / 2, (rig.height * rig.scale) / 2] as const;
    const camera = this.#camera;
    Object.assign(camera, { left: -half[0], right: half[0], top: half[1], bottom: -half[1] });
    camera.near = 0;
    camera.far = 2 * this.#away;
    camera.updateProjectionMatrix();
    const back = backOf(rig);
    const eye = rig.center.map((c, k) => c - this.#origin[k]! + this.#away * back[k]!) as unknown as Vec3;
    camera.matrix = new Matrix4()
      .makeBasis(new Vector3(...rig.right), new Vector3(...rig.up), new Vector3(...back))
      .setPosition(new Vector3(...eye));
    camera.matrixWorldNeedsUpdate = true;
    this.#renderer.render(this.scene, camera);
    const { triangles, points } = this.#renderer.info.render;
    this.#drawing = { triangles, points };
  }

  dispose(): void {
    cancelAnimationFrame(this.#asked);
    this.#backlog.forget();
    this.#renderer.dispose();
  }
}
