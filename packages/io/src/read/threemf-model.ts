import type { Warning } from '@fettle/geom';
import { countText } from '../text/number-text.js';
import { ByteWindow } from './byte-window.js';
import { Column } from './column.js';
import { excerpt } from './excerpt.js';
import { refusal } from './refusal.js';
import type { Model, ModelObject, Placed } from './threemf-contents.js';
import { isNamed, readThree } from './threemf-values.js';
import { Utf8Text } from './utf-16.js';
import { XmlNamespaces } from './xml-namespaces.js';
import { attributesOf, forEachTag, tagName } from './xml-tags.js';

const SLASH = 47;

/** Namespace of the production extension, by which objects may be in model parts of their own. */
const PRODUCTION = 'http://schemas.microsoft.com/3dmanufacturing/production/2015/06';

/** Namespaces whose extensions change nothing about points and triangles, or are followed: a model may require them. */
const understood: ReadonlySet<string> = new Set([
  PRODUCTION,
  'http://schemas.microsoft.com/3dmanufacturing/material/2015/02',
  'http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07',
]);

/** Objects of a model part, and placements of its build and components, beyond which it is no scan. */
const MOST = 1_000_000;

interface OpenObject {
  readonly id: string;
  readonly components: Placed[];
}

/**
 * Reads a model part of a 3MF file (ISO/IEC 25422, the core specification; paths from the production extension) as its bytes
 * come, in UTF-8 or UTF-16. The namespace of the root element is the core's, whatever its name. A model that requires an extension which is
 * not read is refused; elements of such extensions that it does not require are passed over, and a warning names them.
 * Errors: `bad-model`, `bad-number`, `index-out-of-range`, `cut-short`, `not-read`, `too-large`.
 */
export class ModelReader {
  readonly #name: string;
  readonly #part: string;
  readonly #warnings: Warning[];
  readonly #window: ByteWindow;
  readonly #text: Utf8Text;
  readonly #namespaces: XmlNamespaces;
  /** Of the root element, once it is there. */
  #core: string | undefined;
  #unit = 'millimeter';
  readonly #objects = new Map<string, ModelObject>();
  readonly #build: Placed[] = [];
  #object: OpenObject | undefined;
  readonly #positions = new Column(Float64Array);
  readonly #triangles = new Column(Uint32Array);
  /** Which lists of the core are open, and how their entries are written there: `vertex`, `m:vertex`. */
  #vertex: string | undefined;
  #triangle: string | undefined;
  #isClosed = false;
  readonly #passedOver = new Set<string>();
  readonly #values = new Float64Array(3);
  /** Coordinates and corners read since the last tag that was neither, and how many. */
  #scratch = new Float64Array(0);
  #indices = new Uint32Array(0);
  #coordinates = 0;
  #corners = 0;
  #placements = 0;

  /** @param part name of the part, for messages */
  constructor(name: string, part: string, warnings: Warning[]) {
    this.#name = name;
    this.#part = part;
    this.#warnings = warnings;
    this.#window = new ByteWindow(name, (have) => this.#consume(have));
    this.#text = new Utf8Text((bytes) => this.#window.push(bytes));
    this.#namespaces = new XmlNamespaces(name);
  }

  push(bytes: Uint8Array): void {
    this.#text.push(bytes);
  }

  end(): Model {
    this.#text.end();
    this.#window.end();
    if (!this.#isClosed) throw this.#bad('cut-short', "it ends without '</model>'");
    for (const namespace of this.#passedOver) {
      this.#warnings.push({
        code: 'parts-passed-over',
        message: `${this.#name}: model '${excerpt(this.#part)}': what the extension ${excerpt(namespace)} adds to its objects is not read.`,
      });
    }
    return { unit: this.#unit, objects: this.#objects, build: this.#build };
  }

  #consume(have: number): number {
    const { bytes } = this.#window;
    // A vertex or a triangle takes more bytes than it has values.
    if (this.#scratch.length < have) {
      this.#scratch = new Float64Array(have);
      this.#indices = new Uint32Array(have);
    }
    const used = forEachTag(bytes, have, this.#name, (from, to) => {
      if (this.#vertex !== undefined && isNamed(bytes, from, this.#vertex)) this.#takeVertex(bytes, from, to);
      else if (this.#triangle !== undefined && isNamed(bytes, from, this.#triangle))
        this.#takeTriangle(bytes, from, to);
      else this.#takeTag(bytes, from, to);
    });
    this.#flush();
    return used;
  }

  #flush(): void {
    this.#positions.append(this.#scratch.subarray(0, this.#coordinates));
    this.#triangles.append(this.#indices.subarray(0, this.#corners));
    this.#coordinates = 0;
    this.#corners = 0;
  }

  #takeVertex(bytes: Uint8Array, from: number, to: number): void {
    const which = () => `vertex ${countText((this.#positions.length + this.#coordinates) / 3)}`;
    this.#readThree(bytes, from + this.#vertex!.length, to, 'xyz', which);
    this.#scratch.set(this.#values, this.#coordinates);
    this.#coordinates += 3;
    if (bytes[to - 1] !== SLASH) this.#namespaces.open(this.#vertex!);
  }

  #takeTriangle(bytes: Uint8Array, from: number, to: number): void {
    const which = () => `triangle ${countText((this.#triangles.length + this.#corners) / 3)}`;
    this.#readThree(bytes, from + this.#triangle!.length, to, 'v', which);
    for (const v of this.#values) {
      if (!(v >= 0 && v <= 0xffffffff && v === Math.floor(v))) {
        throw this.#bad('index-out-of-range', `${which()} names vertex ${v}`);
      }
    }
    this.#indices.set(this.#values, this.#corners);
    this.#corners += 3;
    if (bytes[to - 1] !== SLASH) this.#namespaces.open(this.#triangle!);
  }

  #takeTag(bytes: Uint8Array, from: number, to: number): void {
    const { qualified, prefix, local, attributes: at } = tagName(bytes, from, to);
    const namespaces = this.#namespaces;
    if (bytes[from] === SLASH) {
      const namespace = namespaces.of(prefix);
      if (!namespaces.close(qualified)) {
        throw this.#bad('bad-model', `'</${excerpt(qualified)}>' ends what does not stand open`);
      }
      if (namespace === this.#core) this.#close(local);
      return;
    }
    const attributes = attributesOf(bytes, at, to);
    namespaces.open(qualified, attributes);
    const namespace = namespaces.of(prefix);
    if (this.#core === undefined && local === 'model') {
      this.#core = namespace;
      this.#begin(attributes);
    }
    if (namespace === this.#core) this.#open(local, prefix, attributes);
    else if (this.#object !== undefined && !understood.has(namespace)) this.#passedOver.add(namespace);
    if (bytes[to - 1] !== SLASH) return;
    namespaces.close(qualified);
    if (namespace === this.#core) this.#close(local);
  }

  /** The root element: its unit, and what a reader must understand. */
  #begin(attributes: ReadonlyMap<string, string>): void {
    this.#unit = attributes.get('unit') ?? 'millimeter';
    for (const prefix of (attributes.get('requiredextensions') ?? '').split(/\s+/)) {
      const namespace = this.#namespaces.of(prefix);
      if (prefix === '' || namespace === this.#core || understood.has(namespace)) continue;
      const called = namespace === prefix ? '' : ` (${excerpt(namespace)})`;
      throw refusal(
        this.#name,
        'not-read',
        `model '${excerpt(this.#part)}' requires the extension '${excerpt(prefix)}'${called}, which is not read: without it the shape would be another. Export it as a plain mesh.`,
      );
    }
  }

  #open(local: string, prefix: string, attributes: ReadonlyMap<string, string>): void {
    const entry = (word: string) => (prefix === '' ? word : `${prefix}:${word}`);
    switch (local) {
      case 'object': {
        if (this.#object !== undefined) throw this.#bad('bad-model', 'an object stands inside another');
        const id = this.#required(attributes, 'id', 'an object');
        if (this.#objects.has(id)) throw this.#bad('bad-model', `two objects are called ${excerpt(id)}`);
        if (this.#objects.size === MOST) throw this.#bad('too-large', `it has more than ${countText(MOST)} objects`);
        this.#object = { id, components: [] };
        return;
      }
      case 'vertices':
        if (this.#object !== undefined) this.#vertex = entry('vertex');
        return;
      case 'triangles':
        if (this.#object !== undefined) this.#triangle = entry('triangle');
        return;
      case 'component':
        this.#object?.components.push(this.#placed(attributes));
        return;
      case 'item':
        this.#build.push(this.#placed(attributes));
    }
  }

  #close(local: string): void {
    if (local === 'model') this.#isClosed = true;
    else if (local === 'vertices' || local === 'triangles') {
      this.#flush();
      if (local === 'vertices') this.#vertex = undefined;
      else this.#triangle = undefined;
    } else if (local === 'object') this.#closeObject();
  }

  #closeObject(): void {
    const { id, components } = this.#object!;
    this.#flush();
    const positions = this.#positions.take();
    const triangles = this.#triangles.take();
    const points = positions.length / 3;
    const beyond = triangles.findIndex((v) => v >= points);
    if (beyond >= 0) {
      throw this.#bad(
        'index-out-of-range',
        `triangle ${countText(Math.floor(beyond / 3))} names vertex ${countText(triangles[beyond])} of ${countText(points)}, counted from 0`,
      );
    }
    this.#objects.set(id, { id, positions, triangles, components });
    this.#object = undefined;
  }

  #placed(attributes: ReadonlyMap<string, string>): Placed {
    if (++this.#placements > MOST) throw this.#bad('too-large', `it places more than ${countText(MOST)} objects`);
    const id = this.#required(attributes, 'objectid', 'a component or an item of the build');
    const path = this.#pathOf(attributes);
    const text = attributes.get('transform');
    let transform: number[] | undefined;
    if (text !== undefined) {
      transform = text.trim().split(/\s+/, 13).map(Number);
      if (transform.length !== 12 || !transform.every(Number.isFinite)) {
        throw this.#bad('bad-number', `the transform '${excerpt(text)}' should be twelve numbers`);
      }
    }
    return { id, ...(path !== undefined && { path }), ...(transform && { transform }) };
  }

  /** The `path` of the production extension, under whatever prefix that has here, bound or not. */
  #pathOf(attributes: ReadonlyMap<string, string>): string | undefined {
    for (const [attribute, value] of attributes) {
      const colon = attribute.indexOf(':');
      if (attribute.slice(colon + 1) !== 'path' || colon < 0) continue;
      const prefix = attribute.slice(0, colon);
      const namespace = this.#namespaces.of(prefix);
      if (namespace === PRODUCTION || namespace === prefix) return value;
    }
    return undefined;
  }

  #required(attributes: ReadonlyMap<string, string>, name: string, of: string): string {
    const value = attributes.get(name);
    if (value === undefined) throw this.#bad('bad-model', `${of} has no ${name}`);
    return value;
  }

  #readThree(bytes: Uint8Array, at: number, to: number, names: 'xyz' | 'v', which: () => string): void {
    readThree(bytes, at, to, names, this.#values, (code, what) => this.#bad(code, `${which()} ${what}`));
  }

  #bad(code: string, what: string): Error {
    const object = this.#object === undefined ? '' : `object ${excerpt(this.#object.id)}, `;
    return refusal(this.#name, code, `model '${excerpt(this.#part)}': ${object}${what}. Export it again.`);
  }
}
