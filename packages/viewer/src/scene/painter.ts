import type { Vec3 } from '@fettle/geom';
import { type Color, Matrix4, OrthographicCamera, Scene, Vector3, WebGLRenderer } from 'three';
import { backOf, type Rig } from './rig.js';

/**
 * Draws the scene on a canvas, once after each change and never between. The canvas shows nothing while the graphics
 * card is away; when it comes back all is drawn again from what the page holds.
 */
export class Painter {
  readonly scene = new Scene();
  #rig: Rig | undefined;
  #away = 1000;
  #origin: Vec3 = [0, 0, 0];
  #asked = 0;
  readonly #camera = new OrthographicCamera();
  readonly #renderer: WebGLRenderer;

  constructor(
    readonly canvas: HTMLCanvasElement,
    told: { lost(): void; restored(): void },
  ) {
    this.#renderer = new WebGLRenderer({ canvas, antialias: true });
    // Asking how shaders fared waits for them, and with them the page; while the page is worked on it may.
    this.#renderer.debug.checkShaderErrors = import.meta.env.DEV;
    this.#camera.matrixAutoUpdate = false;
    canvas.addEventListener('webglcontextlost', (event) => {
      event.preventDefault();
      told.lost();
    });
    canvas.addEventListener('webglcontextrestored', () => {
      told.restored();
      this.invalidate();
    });
  }

  setBackground(color: Color): void {
    this.#renderer.setClearColor(color, 1);
  }

  /** @param away how far from the center the eye stands, mm: beyond all of the scan */
  look(rig: Rig, away: number, origin: Vec3): void {
    this.#rig = rig;
    this.#away = away;
    this.#origin = origin;
    this.invalidate();
  }

  resize(width: number, height: number, ratio: number): void {
    this.#renderer.setPixelRatio(ratio);
    this.#renderer.setSize(width, height, false);
    this.invalidate();
  }

  invalidate(): void {
    this.#asked ||= requestAnimationFrame(() => {
      this.#asked = 0;
      this.#draw();
    });
  }

  #draw(): void {
    const rig = this.#rig;
    if (!rig || rig.width < 1 || rig.height < 1 || this.#renderer.getContext().isContextLost()) return;
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
  }

  dispose(): void {
    cancelAnimationFrame(this.#asked);
    this.#renderer.dispose();
  }
}
