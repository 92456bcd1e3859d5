/** A card that says nothing for so long is taken to be done, ms. */
const LOST_PATIENCE = 20_000;

/**
 * Whether the graphics card has done all it was given. Some questions to it, and every change of the canvas's size, wait until it
 * has, and the page with them: for seconds where software draws a large scan. Who asks here first waits for nothing.
 */
export class Backlog {
  readonly #gl: WebGL2RenderingContext;
  #fence: WebGLSync | undefined;
  #since = 0;

  constructor(gl: WebGL2RenderingContext) {
    this.#gl = gl;
  }

  /** All that was given up to now counts. */
  mark(): void {
    const gl = this.#gl;
    this.forget();
    this.#since = performance.now();
    this.#fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0) ?? undefined;
    gl.flush();
  }

  isDone(): boolean {
    if (this.#fence === undefined) return true;
    const gl = this.#gl;
    // Of a card that went away the answer is null.
    const isWaited = gl.getSyncParameter(this.#fence, gl.SYNC_STATUS) === gl.UNSIGNALED;
    if (isWaited && this.age < LOST_PATIENCE) return false;
    this.forget();
    return true;
  }

  /** How long ago it was last marked, ms. */
  get age(): number {
    return performance.now() - this.#since;
  }

  /** What a card was given that went away is not waited for. */
  forget(): void {
    if (this.#fence) this.#gl.deleteSync(this.#fence);
    this.#fence = undefined;
  }
}
