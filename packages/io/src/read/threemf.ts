import { Column } from './column.js';
import { excerpt } from './excerpt.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';
import { exportAs } from './scan-source.js';
import type { Model, ModelObject, Placed } from './threemf-contents.js';
import { ModelReader } from './threemf-model.js';
import { Placement } from './threemf-placement.js';
import type { LengthUnit } from './units.js';
import { UnpackingBudget } from './unpacking-budget.js';
import { Utf8Text } from './utf-16.js';
import { attributesOf, forEachTag, tagName } from './xml-tags.js';
import { partKey, unpack, type ZipEntry, zipEntries } from './zip.js';

/** Units of the standard: as ours, and a factor where ours have none. */
const units: ReadonlyMap<string, readonly [LengthUnit, number]> = new Map([
  ['micron', ['mm', 1e-3]],
  ['millimeter', ['mm', 1]],
  ['centimeter', ['cm', 1]],
  ['inch', ['inch', 1]],
  ['foot', ['inch', 12]],
  ['meter', ['m', 1]],
]);

/**
 * 3MF (ISO/IEC 25422): all that the build places, transformed, as one scan; where there is no build, all objects that no other has as a
 * component. Model parts of their own (the production extension) are followed; materials, colors and slices are passed over.
 * A transform that mirrors turns the triangles, so that outside stays outside.
 * The packed file is held until its end, for its directory stands there; models are unpacked piece by piece.
 * Errors: `bad-archive`, `bad-model`, `bad-number`, `index-out-of-range`, `cut-short`, `too-large`.
 */
export class ThreeMfReader implements FormatReader {
  readonly format = '3mf';
  readonly encoding = 'text';
  readonly #context: ReadContext;
  readonly #bytes = new Column(Uint8Array);
  #entries: ReadonlyMap<string, ZipEntry> = new Map();
  #budget: UnpackingBudget | undefined;
  /** Model parts read, by the keys of their names. */
  readonly #models = new Map<string, Model>();

  constructor(context: ReadContext) {
    this.#context = context;
  }

  push(bytes: Uint8Array): void {
    this.#bytes.append(bytes);
  }

  async end(): Promise<FileContents> {
    const { name, warnings } = this.#context;
    const packed = this.#bytes.take();
    this.#budget = new UnpackingBudget(name, packed.length, this.#context.unpackedMost);
    this.#entries = zipEntries(packed, name);
    const root = await this.#rootModel();
    const model = await this.#model(root);
    await this.#readParts(root);
    let build: readonly Placed[] = model.build;
    if (build.length === 0) {
      build = this.#unplaced(model);
      if (build.length > 0) {
        warnings.push({
          code: 'no-build',
          message: `${name}: its build places nothing: all its objects taken as they stand.`,
        });
      }
    }
    const [unit, factor] = units.get(model.unit) ?? this.#unknownUnit(model.unit);
    const placement = new Placement(name, (path, id) => this.#object(path, id));
    const contents = placement.place(root, build);
    if (factor !== 1) for (let i = 0; i < contents.positions.length; i++) contents.positions[i] *= factor;
    return { ...contents, unit };
  }

  /** The part that the package names as its model. */
  async #rootModel(): Promise<string> {
    const relations = this.#entries.get('_rels/.rels');
    let target: string | undefined;
    if (relations !== undefined) {
      const pieces = new Column(Uint8Array);
      const text = new Utf8Text((bytes) => pieces.append(bytes));
      await unpack(relations, this.#context.name, this.#budget!, (piece) => text.push(piece));
      text.end();
      const bytes = pieces.take();
      forEachTag(bytes, bytes.length, this.#context.name, (from, to) => {
        const { local, attributes: at } = tagName(bytes, from, to);
        if (local !== 'Relationship') return;
        const attributes = attributesOf(bytes, at, to);
        if (attributes.get('Type')?.endsWith('/3dmodel')) target ??= attributes.get('Target');
      });
    }
    return partKey(target ?? '3D/3dmodel.model');
  }

  async #model(key: string): Promise<Model> {
    const { name } = this.#context;
    const known = this.#models.get(key);
    if (known !== undefined) return known;
    const entry = this.#entries.get(key);
    if (entry === undefined) {
      const holds =
        Array.from(this.#entries.values(), (e) => excerpt(e.name))
          .slice(0, 5)
          .join(', ') || 'nothing';
      throw refusal(
        name,
        'bad-model',
        `a zip archive without the model '${excerpt(key)}' of a 3MF file; it holds ${holds}. ${exportAs}`,
      );
    }
    const reader = new ModelReader(name, entry.name, this.#context.warnings);
    await unpack(entry, name, this.#budget!, (piece) => reader.push(piece));
    const model = reader.end();
    this.#models.set(key, model);
    return model;
  }

  /** Reads the model parts that others name, and those they name. */
  async #readParts(root: string): Promise<void> {
    const waiting = [root];
    for (let key = waiting.pop(); key !== undefined; key = waiting.pop()) {
      const model = await this.#model(key);
      const placed = [...model.build, ...Array.from(model.objects.values()).flatMap((object) => object.components)];
      for (const { path } of placed) {
        if (path !== undefined && !this.#models.has(partKey(path))) waiting.push(partKey(path));
      }
    }
  }

  #object(path: string, id: string): ModelObject {
    const object = this.#models.get(path)?.objects.get(id);
    if (object === undefined) {
      throw refusal(
        this.#context.name,
        'bad-model',
        `object ${excerpt(id)} is placed and is not in '${excerpt(path)}'. Export it again.`,
      );
    }
    return object;
  }

  #unplaced(model: Model): Placed[] {
    const used = new Set(Array.from(model.objects.values()).flatMap((object) => object.components.map((c) => c.id)));
    return Array.from(model.objects.keys())
      .filter((id) => !used.has(id))
      .map((id) => ({ id }));
  }

  #unknownUnit(unit: string): never {
    throw refusal(
      this.#context.name,
      'bad-model',
      `unknown unit '${excerpt(unit)}'; the standard has ${[...units.keys()].join(', ')}. Export it again.`,
    );
  }
}
