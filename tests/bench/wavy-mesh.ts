import { createScan, type Mesh, seededRandom } from '@fettle/geom';

/**
 * A mesh as large as a scan of a machine: `side`² points 0.2 mm apart on a wavy face, with 0.02 mm of noise, in the order a
 * scanner's rows give. 1,501 a side make 4.5 M triangles.
 */
export function wavyMesh(side: number): Mesh {
  const random = seededRandom(1);
  const positions = new Float64Array(3 * side * side);
  for (let j = 0; j < side; j++)
    for (let i = 0; i < side; i++) {
      const p = 3 * (j * side + i);
      positions[p] = 0.2 * i;
      positions[p + 1] = 0.2 * j;
      positions[p + 2] = 15 * Math.sin(0.012 * i) * Math.cos(0.009 * j) + 0.02 * random.normal();
    }
  const triangles = new Uint32Array(6 * (side - 1) ** 2);
  let t = 0;
  for (let j = 0; j + 1 < side; j++)
    for (let i = 0; i + 1 < side; i++) {
      const a = j * side + i;
      triangles.set([a, a + 1, a + side, a + 1, a + side + 1, a + side], t);
      t += 6;
    }
  return createScan({ positions, triangles, name: 'wavy' }) as Mesh;
}
