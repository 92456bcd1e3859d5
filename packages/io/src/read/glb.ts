import { counted, countText } from '../text/number-text.js';
import { Column } from './column.js';
import { textOf } from './decimal.js';
import { GltfBuffers } from './gltf-buffers.js';
import { type Complain, type Fields, listOf, shown } from './gltf-fields.js';
import { assemble } from './gltf-mesh.js';
import { placedPrimitives } from './gltf-scene.js';
import type { FileContents, FormatReader, ReadContext } from './reader.js';
import { refusal } from './refusal.js';

const JSON_CHUNK = 0x4e4f534a;
const BINARY_CHUNK = 0x004e4942;
/** Extensions a file may require of us: those that only say how numbers are stored, which accessors do as well, and instances. */
const understood: ReadonlySet<unknown> = new Set([
  'EXT_mesh_gpu_instancing',
  'KHR_mesh_quantization',
  'KHR_materials_unlit',
  'KHR_texture_transform',
  'KHR_texture_basisu',
]);

/**
 * glTF binary (Khronos, glTF 2.0; ISO/IEC 12113): all meshes of the scene, placed by their nodes, as one scan in meters, which the
 * standard says they are; normals, and colors from linear light to the sRGB of other formats. Points that the file has several
 * times, where textures or edges part, stay several. Skins and morph targets stand as the file has them; animations are passed over.
 *
 * @gltf-transform/core 4.5 was weighed against this: minified 67 kB for 15, and on 48 MB of 2.0 M triangles 0.5 s of a processor for
 * 1.3 to 2.0, without a check of indices and numbers, instances and skins (further packages), and with the file held whole.
 *
 * Errors: `cut-short`, `bad-model`, `not-read` (compression, data in other files), `index-out-of-range`, `too-large`.
 */
export class GlbReader implements FormatReader {
  readonly format = 'glb';
  readonly encoding = 'binary';
  readonly #context: ReadContext;
  readonly #bytes = new Column(Uint8Array);

  constructor(context: ReadContext) {
    this.#context = context;
  }

  push(bytes: Uint8Array): void {
    this.#bytes.append(bytes);
  }

  end(): FileContents {
    const { name, warnings } = this.#context;
    const complain: Complain = (what, code = 'bad-model') => {
      throw refusal(name, code, `a glTF binary: ${what}. Export it again.`);
    };
    const { document, binary } = chunksOfFile(this.#bytes.take(), complain);
    const buffers = new GltfBuffers(document, binary, complain);
    for (const extension of listOf(document, 'extensionsRequired')) {
      if (!understood.has(extension))
        complain(`it needs ${shown(extension)}, which is not read: export it without`, 'not-read');
    }
    const placed = placedPrimitives(document, buffers, complain);
    const meshes = placed.filter(({ mode }) => mode === 0 || mode >= 4);
    if (meshes.length < placed.length) {
      warnings.push({
        code: 'lines-passed-over',
        message: `${name}: ${counted(placed.length - meshes.length, 'mesh', 'meshes')} of lines passed over.`,
      });
    }
    return assemble(document, buffers, meshes, complain);
  }
}

/** The two chunks of the file. */
function chunksOfFile(bytes: Uint8Array, complain: Complain): { document: Fields; binary: DataView } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  if (bytes.length < 20) complain(`cut short after ${countText(bytes.length)} bytes`, 'cut-short');
  const version = view.getUint32(4, true);
  if (version !== 2) complain(`version ${countText(version)}; only 2 is read`, 'not-read');
  const length = view.getUint32(8, true);
  if (length > bytes.length)
    complain(
      `cut short: the file holds ${countText(bytes.length)} bytes, its header asks for ${countText(length)}`,
      'cut-short',
    );
  let document: unknown;
  let binary: DataView = new DataView(new ArrayBuffer(0));
  for (let at = 12; at + 8 <= length; ) {
    const size = view.getUint32(at, true);
    const type = view.getUint32(at + 4, true);
    const from = at + 8;
    if (from + size > length) complain(`a chunk of ${countText(size)} bytes reaches beyond its ${countText(length)}`);
    if (type === JSON_CHUNK && document === undefined) {
      try {
        document = JSON.parse(textOf(bytes, from, from + size));
      } catch {
        complain('its description is no JSON');
      }
    } else if (type === BINARY_CHUNK && binary.byteLength === 0)
      binary = new DataView(bytes.buffer, bytes.byteOffset + from, size);
    at = from + size;
  }
  if (typeof document !== 'object' || document === null) complain('it has no description');
  return { document: document as Fields, binary };
}
