import type { CDPSession, Page } from 'playwright-core';

type Place = readonly [x: number, y: number];

/** Fingers on a page, as its screen would tell of them. */
export class Fingers {
  readonly #devtools: CDPSession;
  #at: readonly Place[] = [];

  private constructor(devtools: CDPSession) {
    this.#devtools = devtools;
  }

  static async on(page: Page): Promise<Fingers> {
    return new Fingers(await page.context().newCDPSession(page));
  }

  async #tell(type: 'touchStart' | 'touchMove' | 'touchEnd', at: readonly Place[]): Promise<void> {
    await this.#devtools.send('Input.dispatchTouchEvent', {
      type,
      touchPoints: at.map(([x, y], id) => ({ x, y, id })),
    });
    this.#at = at;
  }

  /** Puts fingers down, moves them in so many steps and takes them off. */
  async drag(from: readonly Place[], to: readonly Place[], steps = 8): Promise<void> {
    for (let count = 1; count <= from.length; count++) await this.#tell('touchStart', from.slice(0, count));
    for (let step = 1; step <= steps; step++)
      await this.#tell(
        'touchMove',
        this.#at.map(
          (_, f) => [0, 1].map((k) => from[f]![k]! + (step / steps) * (to[f]![k]! - from[f]![k]!)) as [number, number],
        ),
      );
    await this.#tell('touchEnd', []);
  }
}
