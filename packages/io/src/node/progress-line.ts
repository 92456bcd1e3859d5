import type { WriteStream } from 'node:tty';
import { textWidth } from '../text/text-layout.js';
import { plainText } from '../text/visible-text.js';

/** At most this often the line is drawn anew, ms. */
const INTERVAL = 80;

/** One line at the bottom of a terminal that says what is going on; nothing at all where `stream` is no terminal. */
export class ProgressLine {
  readonly #stream: Pick<WriteStream, 'isTTY' | 'columns' | 'write'>;
  #text = '';
  #drawn = Number.NEGATIVE_INFINITY;
  #shown = false;
  #later: NodeJS.Timeout | undefined;

  constructor(stream: Pick<WriteStream, 'isTTY' | 'columns' | 'write'>) {
    this.#stream = stream;
  }

  /** Replaces the line by `text`, cut to the terminal's width: at once, or when the last one has stood for a moment. */
  show(text: string): void {
    if (!this.#stream.isTTY) return;
    this.#text = text;
    const wait = this.#drawn + INTERVAL - performance.now();
    if (wait <= 0) this.#draw();
    else this.#later ??= setTimeout(() => this.#draw(), wait);
  }

  /** As {@link show}, at once: for work that lets no timer run. */
  showNow(text: string): void {
    if (!this.#stream.isTTY) return;
    this.#text = text;
    this.#draw();
  }

  /** Takes the line away, so that other text can follow. */
  clear(): void {
    clearTimeout(this.#later);
    this.#later = undefined;
    if (this.#shown) this.#stream.write('\r\u001b[K');
    this.#shown = false;
  }

  #draw(): void {
    clearTimeout(this.#later);
    this.#later = undefined;
    const room = Math.max(10, (this.#stream.columns || 80) - 1);
    const text = plainText(this.#text);
    const cut = textWidth(text) > room ? `${[...text].slice(0, room - 1).join('')}…` : text;
    this.#stream.write(`\r\u001b[K${cut}`);
    this.#drawn = performance.now();
    this.#shown = true;
  }
}
