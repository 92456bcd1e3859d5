import type { WriteStream } from 'node:tty';
import { textWidth } from '../report/text-layout.js';

/** At most this often the line is drawn anew, ms. */
const INTERVAL = 80;

/** One line at the bottom of a terminal that says what is going on; nothing at all where `stream` is no terminal. */
export class ProgressLine {
  readonly #stream: Pick<WriteStream, 'isTTY' | 'columns' | 'write'>;
  #drawn = 0;
  #shown = false;

  constructor(stream: Pick<WriteStream, 'isTTY' | 'columns' | 'write'>) {
    this.#stream = stream;
  }

  get visible(): boolean {
    return this.#stream.isTTY === true;
  }

  /** Replaces the line by `text`, cut to the terminal's width. */
  show(text: string): void {
    if (!this.visible) return;
    const now = performance.now();
    if (this.#shown && now - this.#drawn < INTERVAL) return;
    const room = Math.max(10, (this.#stream.columns || 80) - 1);
    const cut = textWidth(text) > room ? `${[...text].slice(0, room - 1).join('')}…` : text;
    this.#stream.write(`\r\u001b[K${cut}`);
    this.#drawn = now;
    this.#shown = true;
  }

  /** Takes the line away, so that other text can follow. */
  clear(): void {
    if (!this.#shown) return;
    this.#stream.write('\r\u001b[K');
    this.#shown = false;
  }
}
