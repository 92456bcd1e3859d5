import { accessorOf, measured, unsigned, valuesOf } from './gltf-accessor.js';
import type { GltfBuffers } from './gltf-buffers.js';
import type { Complain, Fields } from './gltf-fields.js';
import type { PlacedPrimitive } from './gltf-scene.js';

/** Sets of four joints that the attributes of a mesh may have. */
const SETS = 8;

/**
 * The matrix that each vertex of a skinned mesh is moved by: those of its joints, blended by their weights (glTF 2.0, section
 * 3.7.3). The matrix given is good until the next is asked for.
 */
export function blendedMatrices(
  document: Fields,
  buffers: GltfBuffers,
  { primitive, joints = [] }: PlacedPrimitive,
  count: number,
  complain: Complain,
): (vertex: number) => readonly number[] {
  const attributes = Object(primitive.attributes) as Fields;
  const sets: { readonly names: Float64Array; readonly weights: Float64Array }[] = [];
  for (let s = 0; s < SETS && attributes[`JOINTS_${s}`] !== undefined; s++) {
    const names = accessorOf(document, attributes[`JOINTS_${s}`], buffers, complain);
    const weights = accessorOf(document, attributes[`WEIGHTS_${s}`], buffers, complain);
    if (names.width !== 4 || !unsigned.has(names.componentType) || names.isNormalized || names.count < count)
      complain('the joints of a skinned mesh should be four whole numbers a vertex');
    if (weights.width !== 4 || !measured.has(weights.componentType) || weights.count < count)
      complain('the weights of a skinned mesh should be four numbers a vertex');
    sets.push({ names: valuesOf(names, complain), weights: valuesOf(weights, complain) });
  }
  if (sets.length === 0) complain('a skinned mesh has no joints and weights');
  const blended = new Array<number>(16);
  return (vertex) => {
    blended.fill(0);
    let sum = 0;
    for (const { names, weights } of sets) {
      for (let i = 4 * vertex; i < 4 * vertex + 4; i++) {
        const weight = weights[i];
        if (weight === 0) continue;
        const matrix = joints[names[i]] ?? complain('a skinned mesh names a joint that its skin does not have');
        for (let k = 0; k < 16; k++) blended[k] += weight * matrix[k];
        sum += weight;
      }
    }
    if (!(sum > 0)) complain('a vertex of a skinned mesh has no weight');
    // Weights of few bits do not sum up to 1 exactly.
    for (let k = 0; k < 16; k++) blended[k] /= sum;
    return blended;
  };
}
