import { cloudNormals, createScan, holes, pieces, seededRandom, spatialIndex, vertexNormals } from '@fettle/geom';
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
    const places = Array.from({ length: 10_000 }, () => [
      300 * random.next(),
      300 * random.next(),
      40 * (random.next() - 0.5),
    ]);
    const index = spatialIndex(mesh);
    const nearest = await milliseconds(() => places.map(([x, y, z]) => index.nearest([x, y, z])), 3);
    const peerNearest = await milliseconds(
      () => places.map(([x, y, z]) => bvh?.closestPointToPoint(new Vector3(x, y, z))),
      3,
    );
    rows.push({
      what: '10,000 nearest places',
      ours: inMs(nearest),
      peer: `three-mesh-bvh ${inMs(peerNearest)}`,
      ratio: asRatio(peerNearest / nearest),
      bound: 'under 500 ms',
      held: nearest < 500,
    });

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
