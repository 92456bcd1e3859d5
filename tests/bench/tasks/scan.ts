import {
  cloudNormals,
  createScan,
  holes,
  pieces,
  seededRandom,
  spatialIndex,
  type Vec3,
  vertexNormals,
} from '@fettle/geom';
import { BufferAttribute, BufferGeometry, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { asRatio, inMs, milliseconds, type Row, type Task } from '../task.js';
import { wavyMesh } from '../wavy-mesh.js';

/** Wall time of one call, ms. */
function once(work: () => void): number {
  globalThis.gc?.();
  const start = performance.now();
  work();
  return performance.now() - start;
}

export const task: Task = {
  title: 'Structures of a scan of 4.5 M triangles',
  async run() {
    const mesh = wavyMesh(1501);
    const rows: Row[] = [];
    const bounded = (what: string, ms: number, bound: number): void => {
      rows.push({ what, ours: inMs(ms), bound: `under ${inMs(bound)}`, held: ms < bound });
    };
    const fresh = () => ({ ...mesh, triangles: mesh.triangles.slice() });

    bounded('pieces', await milliseconds(() => pieces(mesh), 3), 1500);
    bounded(
      'holes, with the triangles about each point',
      once(() => holes(fresh())),
      1500,
    );
    bounded('normals of the points', await milliseconds(() => vertexNormals(mesh), 3), 1500);

    const build = once(() => spatialIndex(mesh));
    const geometry = new BufferGeometry();
    geometry.setAttribute('position', new BufferAttribute(Float32Array.from(mesh.positions), 3));
    geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
    let bvh: MeshBVH | undefined;
    const peerBuild = once(() => {
      bvh = new MeshBVH(geometry);
    });
    rows.push({
      what: 'index over the triangles',
      ours: inMs(build),
      peer: `three-mesh-bvh ${inMs(peerBuild)}, single precision`,
      ratio: asRatio(peerBuild / build),
      bound: 'under 3,000 ms',
      held: build < 3000,
    });

    const random = seededRandom(5);
    const index = spatialIndex(mesh);
    for (const [where, off, bound] of [
      ['within 5 mm of the surface', 5, 500],
      ['up to 30 mm off it', 30, 1000],
    ] as const) {
      const places = Array.from({ length: 10_000 }, (): Vec3 => {
        const [x, y] = [300 * random.next(), 300 * random.next()];
        return [x, y, 15 * Math.sin(0.06 * x) * Math.cos(0.045 * y) + 2 * off * (random.next() - 0.5)];
      });
      const ours = await milliseconds(() => places.map((p) => index.nearest(p)), 3);
      const peer = await milliseconds(() => places.map((p) => bvh?.closestPointToPoint(new Vector3(...p))), 3);
      rows.push({
        what: `10,000 nearest places, ${where}`,
        ours: inMs(ours),
        peer: `three-mesh-bvh ${inMs(peer)}`,
        ratio: asRatio(peer / ours),
        bound: `under ${inMs(bound)}`,
        held: ours < bound,
      });
    }

    const cloud = createScan({ positions: mesh.positions.slice(0, 3_000_000) });
    bounded(
      'index over a cloud of 1 M points',
      once(() => spatialIndex(cloud)),
      1500,
    );
    bounded(
      'normals of that cloud, neighbors facing alike',
      once(() => cloudNormals(cloud)),
      15_000,
    );
    return rows;
  },
};
