import { countText } from '../text/number-text.js';
import { accessorOf, measured, valuesOf } from './gltf-accessor.js';
import type { GltfBuffers } from './gltf-buffers.js';
import { type Complain, entryOf, type Fields, listOf, wholeOf } from './gltf-fields.js';
import { fromParts, identity, matrixOf, product } from './gltf-matrix.js';

/** A few nodes can place a mesh any number of times. */
const MOST_PLACEMENTS = 1_000_000;

/** A piece of a mesh where a node puts it. */
export interface PlacedPrimitive {
  readonly primitive: Fields;
  readonly mode: number;
  /** Column by column, 4 × 4. */
  readonly matrix: readonly number[];
  /** Of a skinned mesh: where each joint takes it; the matrix is then of no account (section 3.7.3.1). */
  readonly joints?: readonly (readonly number[])[];
  /** How much of each morph target is added. */
  readonly weights: readonly unknown[];
}

/**
 * What the scene's nodes place; without a scene, all meshes as they stand. Of a node with instances (EXT_mesh_gpu_instancing) its mesh
 * once an instance.
 */
export function placedPrimitives(document: Fields, buffers: GltfBuffers, complain: Complain): PlacedPrimitive[] {
  const placed: PlacedPrimitive[] = [];
  const take = (mesh: Fields, place: Pick<PlacedPrimitive, 'matrix' | 'joints'>, node: Fields = {}): void => {
    for (const primitive of listOf(mesh, 'primitives')) {
      if (typeof primitive !== 'object' || primitive === null) complain('a primitive is no object');
      const mode = wholeOf(primitive as Fields, 'mode', 4, complain);
      if (mode > 6) complain(`a primitive has mode ${countText(mode)}`);
      const weights = Array.isArray(node.weights) ? node.weights : listOf(mesh, 'weights');
      placed.push({ primitive: primitive as Fields, mode, weights, ...place });
      if (placed.length > MOST_PLACEMENTS)
        complain(`its nodes place more than ${countText(MOST_PLACEMENTS)} meshes`, 'too-large');
    }
  };
  if (listOf(document, 'scenes').length === 0) {
    for (const mesh of listOf(document, 'meshes')) take(Object(mesh) as Fields, { matrix: identity });
    return placed;
  }
  const nodes = nodesOfScene(document, complain);
  for (const { node, matrix } of nodes.values()) {
    if (node.mesh === undefined) continue;
    const mesh = entryOf(document, 'meshes', node.mesh, complain);
    if (node.skin !== undefined)
      take(mesh, { matrix: identity, joints: jointsOf(document, node, nodes, buffers, complain) }, node);
    else
      for (const own of instancesOf(document, node, buffers, complain))
        take(mesh, { matrix: product(matrix, own) }, node);
  }
  return placed;
}

type Nodes = ReadonlyMap<unknown, { readonly node: Fields; readonly matrix: readonly number[] }>;

/** The nodes of the scene by their indices, with the matrices that place them in it. */
function nodesOfScene(document: Fields, complain: Complain): Nodes {
  const scene = entryOf(document, 'scenes', document.scene ?? 0, complain);
  const waiting = listOf(scene, 'nodes').map((index) => ({ index, outer: identity }));
  const nodes = new Map<unknown, { readonly node: Fields; readonly matrix: readonly number[] }>();
  for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
    const node = entryOf(document, 'nodes', next.index, complain);
    // Nodes are a tree: one met twice would be its own child, or placed twice.
    if (nodes.has(next.index)) complain(`node ${String(next.index)} has two parents`);
    const matrix = product(next.outer, matrixOf(node, complain));
    nodes.set(next.index, { node, matrix });
    for (const index of listOf(node, 'children')) waiting.push({ index, outer: matrix });
  }
  return nodes;
}

/** Where each joint of a node's skin takes the mesh: its own matrix in the scene behind the inverse of the one it was bound in. */
function jointsOf(document: Fields, node: Fields, nodes: Nodes, buffers: GltfBuffers, complain: Complain): number[][] {
  const skin = entryOf(document, 'skins', node.skin, complain);
  const bound =
    skin.inverseBindMatrices === undefined
      ? undefined
      : accessorOf(document, skin.inverseBindMatrices, buffers, complain);
  const joints = listOf(skin, 'joints');
  if (bound !== undefined && (bound.width !== 16 || bound.componentType !== 5126 || bound.count < joints.length))
    complain('a skin should have a matrix of single-precision numbers for each joint');
  const inverse = bound && valuesOf(bound, complain);
  return joints.map((index, j) => {
    const matrix = nodes.get(index)?.matrix;
    if (matrix === undefined) return complain('a joint of a skin is no node of the scene');
    return inverse === undefined ? [...matrix] : product(matrix, [...inverse.subarray(16 * j, 16 * j + 16)]);
  });
}

/** The matrices of a node's instances; one that changes nothing where it has none. */
function instancesOf(document: Fields, node: Fields, buffers: GltfBuffers, complain: Complain): (readonly number[])[] {
  const extension = (Object(node.extensions) as Fields).EXT_mesh_gpu_instancing;
  if (extension === undefined) return [identity];
  const attributes = Object((Object(extension) as Fields).attributes) as Fields;
  const columns = (
    [
      ['TRANSLATION', 3, [0, 0, 0]],
      ['ROTATION', 4, [0, 0, 0, 1]],
      ['SCALE', 3, [1, 1, 1]],
    ] as const
  ).map(([name, width, otherwise]) => {
    if (attributes[name] === undefined) return { count: undefined, at: () => otherwise };
    const accessor = accessorOf(document, attributes[name], buffers, complain);
    if (accessor.width !== width || !measured.has(accessor.componentType))
      complain(`the ${name} of instances should be ${countText(width)} numbers`);
    const values = valuesOf(accessor, complain);
    return { count: accessor.count, at: (i: number) => [...values.subarray(i * width, (i + 1) * width)] };
  });
  const counts = columns.flatMap(({ count }) => count ?? []);
  if (counts.length === 0 || counts.some((count) => count !== counts[0]))
    complain('the instances of a node have no count, or several');
  if (counts[0] > MOST_PLACEMENTS) complain(`a node has ${countText(counts[0])} instances`, 'too-large');
  const [translation, rotation, scale] = columns;
  return Array.from({ length: counts[0] }, (_, i) => fromParts(translation.at(i), rotation.at(i), scale.at(i)));
}
