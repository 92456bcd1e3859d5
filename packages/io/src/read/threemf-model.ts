import { counted, countText } from '../report/number-text.js';
import { ByteWindow } from './byte-window.js';
import { Column } from './column.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import { refusal } from './refusal.js';
import { attributesOf, forEachTag, isXmlBlank, tagName } from './xml-tags.js';

/** Twelve numbers of the standard's 4 × 3 matrix, row by row: a point is a row vector before it. */
export type Transform = readonly number[];

/** An object placed by another one or by the build: in the model part `path`, or the one that speaks. */
export interface Placed {
  readonly id: string;
  readonly path?: string;
  readonly transform?: Transform;
}

export interface ModelObject {
  readonly id: string;
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  readonly components: readonly Placed[];
}

/** One model part: its unit, its objects, and what of them the build places. */
export interface Model {
  readonly unit: string;
  readonly objects: ReadonlyMap<string, ModelObject>;
  readonly build: readonly Placed[];
}

/**
 * Reads a model part of a 3MF file (ISO/IEC 25422, the core specification; paths from the production extension) as its bytes
 * come. Errors: `bad-model`, `bad-number`, `index-out-of-range`, `cut-short`.
 */
export class ModelReader {
  readonly #name: string;
  readonly #part: string;
  readonly #window: ByteWindow;
  #unit = 'millimeter';
  readonly #objects = new Map<string, ModelObject>();
  readonly #build: Placed[] = [];
  #object:
    | { id: string; positions: Column<Float64Array>; triangles: Column<Uint32Array>; components: Placed[] }
    | undefined;
  #isClosed = false;
  readonly #values = new Float64Array(3);
  #scratch = new Float64Array(0);
  #indices = new Uint32Array(0);

  /** @param part name of the part, for messages */
  constructor(name: string, part: string) {
    this.#name = name;
    this.#part = part;
    this.#window = new ByteWindow(name, (have) => this.#consume(have));
  }

  push(bytes: Uint8Array): void {
    this.#window.push(bytes);
  }

  end(): Model {
    this.#window.end();
    if (!this.#isClosed) throw this.#bad('cut-short', "it ends without '</model>'");
    return { unit: this.#unit, objects: this.#objects, build: this.#build };
  }

  #consume(have: number): number {
    const { bytes } = this.#window;
    // A vertex or a triangle takes more bytes than it has values.
    if (this.#scratch.length < have) {
      this.#scratch = new Float64Array(have);
      this.#indices = new Uint32Array(have);
    }
    let p = 0;
    let t = 0;
    const flush = () => {
      this.#object?.positions.append(this.#scratch.subarray(0, p));
      this.#object?.triangles.append(this.#indices.subarray(0, t));
      p = 0;
      t = 0;
    };
    const used = forEachTag(bytes, have, this.#name, (from, to) => {
      const object = this.#object;
      if (object !== undefined && isNamed(bytes, from, 'vertex')) {
        this.#readThree(bytes, from + 6, to, 'xyz', () => `vertex ${countText((object.positions.length + p) / 3)}`);
        this.#scratch.set(this.#values, p);
        p += 3;
      } else if (object !== undefined && isNamed(bytes, from, 'triangle')) {
        const which = () => `triangle ${countText((object.triangles.length + t) / 3)}`;
        this.#readThree(bytes, from + 8, to, 'v', which);
        for (let k = 0; k < 3; k++) {
          const v = this.#values[k];
          if (!(v >= 0 && v <= 0xffffffff && v === Math.floor(v))) {
            throw this.#bad('index-out-of-range', `${which()} names vertex ${v}`);
          }
          this.#indices[t + k] = v;
        }
        t += 3;
      } else {
        flush();
        this.#takeTag(bytes, from, to);
      }
    });
    flush();
    return used;
  }

  #takeTag(bytes: Uint8Array, from: number, to: number): void {
    const { name, attributes: at } = tagName(bytes, from, to);
    const isClosing = bytes[from] === 47;
    switch (name) {
      case 'model':
        if (isClosing) this.#isClosed = true;
        else this.#unit = attributesOf(bytes, at, to).get('unit') ?? 'millimeter';
        return;
      case 'object':
        if (isClosing) this.#closeObject();
        else if (this.#object !== undefined) throw this.#bad('bad-model', 'an object stands inside another');
        else {
          const id = this.#required(attributesOf(bytes, at, to), 'id', 'an object');
          if (this.#objects.has(id)) throw this.#bad('bad-model', `two objects are called ${excerpt(id)}`);
          this.#object = {
            id,
            positions: new Column(Float64Array),
            triangles: new Column(Uint32Array),
            components: [],
          };
          // An object without content closes itself.
          if (bytes[to - 1] === 47) this.#closeObject();
        }
        return;
      case 'component':
        if (this.#object !== undefined && !isClosing)
          this.#object.components.push(this.#placed(attributesOf(bytes, at, to)));
        return;
      case 'item':
        if (!isClosing) this.#build.push(this.#placed(attributesOf(bytes, at, to)));
        return;
      // A prefix before the words of the core makes the fast path miss them.
      case 'vertex':
      case 'triangle':
        if (!isClosing && this.#object !== undefined)
          throw this.#bad('bad-model', `'${name}' under a prefix is not read`);
    }
  }

  #closeObject(): void {
    const object = this.#object;
    if (object === undefined) throw this.#bad('bad-model', 'an object ends that has not begun');
    const positions = object.positions.take();
    const triangles = object.triangles.take();
    const points = positions.length / 3;
    const beyond = triangles.findIndex((v) => v >= points);
    if (beyond >= 0) {
      throw this.#bad(
        'index-out-of-range',
        `triangle ${countText(Math.floor(beyond / 3))} names vertex ${countText(triangles[beyond])} of ${countText(points)}, counted from 0`,
      );
    }
    this.#objects.set(object.id, { id: object.id, positions, triangles, components: object.components });
    this.#object = undefined;
  }

  #placed(attributes: ReadonlyMap<string, string>): Placed {
    const id = this.#required(attributes, 'objectid', 'a component or an item of the build');
    const path = attributes.get('path');
    const text = attributes.get('transform');
    let transform: number[] | undefined;
    if (text !== undefined) {
      transform = text.trim().split(/\s+/).map(Number);
      if (transform.length !== 12 || !transform.every(Number.isFinite)) {
        throw this.#bad('bad-number', `the transform '${excerpt(text)}' should be twelve numbers`);
      }
    }
    return { id, ...(path !== undefined && { path }), ...(transform && { transform }) };
  }

  #required(attributes: ReadonlyMap<string, string>, name: string, of: string): string {
    const value = attributes.get(name);
    if (value === undefined) throw this.#bad('bad-model', `${of} has no ${name}`);
    return value;
  }

  /** Reads x, y and z, or v1, v2 and v3, into the values; other attributes are passed over. */
  #readThree(bytes: Uint8Array, at: number, to: number, names: 'xyz' | 'v', which: () => string): void {
    const isVertex = names === 'xyz';
    let seen = 0;
    let i = at;
    for (;;) {
      while (i < to && (isXmlBlank(bytes[i]) || bytes[i] === 47)) i++;
      if (i >= to) break;
      const from = i;
      while (i < to && bytes[i] !== 61 && !isXmlBlank(bytes[i])) i++;
      const length = i - from;
      let k = -1;
      if (isVertex) {
        if (length === 1) k = bytes[from] - 120;
      } else if (length === 2 && bytes[from] === 118) k = bytes[from + 1] - 49;
      while (i < to && bytes[i] !== 34 && bytes[i] !== 39) i++;
      const quote = bytes[i++];
      let end = i;
      while (end < to && bytes[end] !== quote) end++;
      if (end >= to) throw this.#bad('bad-model', `${which()} has an attribute without a value`);
      if (k >= 0 && k < 3) {
        while (isXmlBlank(bytes[i])) i++;
        // A blank for the closing quote, so that the number ends there.
        bytes[end] = 32;
        let next = readDecimal(bytes, i, this.#values, k);
        while (next >= 0 && next < end && isXmlBlank(bytes[next])) next++;
        if (next !== end) {
          const text = excerpt(textOf(bytes, i, Math.min(end, i + 100)));
          throw this.#bad('bad-number', `${which()} holds '${text}' where a number belongs`);
        }
        seen |= 1 << k;
      }
      i = end + 1;
    }
    if (seen !== 7) {
      const missing = [0, 1, 2].filter((k) => !(seen & (1 << k))).map((k) => (isVertex ? 'xyz'[k] : `v${k + 1}`));
      throw this.#bad('bad-model', `${which()} has no ${missing.join(', ')}`);
    }
  }

  #bad(code: string, what: string): Error {
    const object = this.#object === undefined ? '' : `object ${excerpt(this.#object.id)}, `;
    return refusal(this.#name, code, `model '${excerpt(this.#part)}': ${object}${what}. Export it again.`);
  }
}

function isNamed(bytes: Uint8Array, from: number, word: string): boolean {
  for (let k = 0; k < word.length; k++) if (bytes[from + k] !== word.charCodeAt(k)) return false;
  const behind = bytes[from + word.length];
  return isXmlBlank(behind) || behind === 47 || behind === 62;
}

/** Points and triangles of a thing in words, for messages. */
export const contentsText = (points: number, triangles: number): string =>
  `${counted(points, 'point')} and ${counted(triangles, 'triangle')}`;
