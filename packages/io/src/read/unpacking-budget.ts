import { counted, countText, megabytes } from '../text/number-text.js';
import { refusal } from './refusal.js';

/**
 * Unpacked bytes over packed ones that no scan reaches, and bytes that are let through whatever their share. Numbers as text pack four-
 * to fifteenfold, a flat grid in few digits fortyfold; deflate itself ends at a thousandfold (1,032).
 */
const USUAL = { ratio: 100, least: 1 << 26 };

/** What a compressed file may still unpack to. It is asked as bytes come out, so that no more than a piece is ever too many. */
export class UnpackingBudget {
  readonly #name: string;
  readonly #given: number | undefined;
  #packed: number;
  #unpacked = 0;

  /**
   * @param packed bytes of the file known so far
   * @param most bytes it may unpack to, where somebody says so
   */
  constructor(name: string, packed: number, most?: number) {
    this.#name = name;
    this.#packed = packed;
    this.#given = most;
  }

  /** More of the packed file has come. */
  addPacked(bytes: number): void {
    this.#packed += bytes;
  }

  /** Refuses what says itself that it will unpack to too much. Errors: `too-large`. */
  foresee(bytes: number): void {
    this.#check(this.#unpacked + bytes);
  }

  /** Counts unpacked bytes. Errors: `too-large`. */
  take(bytes: number): void {
    this.#unpacked += bytes;
    this.#check(this.#unpacked);
  }

  #check(unpacked: number): void {
    const most = this.#given ?? Math.max(USUAL.least, USUAL.ratio * this.#packed);
    if (unpacked <= most) return;
    const why =
      this.#given === undefined
        ? `${countText(USUAL.ratio)} times the size and more, which no scan does`
        : `more than the ${megabytes(this.#given)} MB allowed`;
    throw refusal(
      this.#name,
      'too-large',
      `compressed, ${counted(this.#packed, 'byte')} that unpack to ${megabytes(unpacked)} MB or more: ${why}. If it is a scan, allow more (unpackedMost, --unpacked-most), or unpack it first.`,
    );
  }
}
