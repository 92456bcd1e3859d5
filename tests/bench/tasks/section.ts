import { cutMesh, type Mesh, sectionLength, type Vec3 } from '@fettle/geom';
import { BufferAttribute, BufferGeometry, Line3, Plane, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';
import { asRatio, inMs, milliseconds, type Row, type Task } from '../task.js';
import { wavyMesh } from '../wavy-mesh.js';

/** Slicing as three-mesh-bvh's own example does it: a shapecast that meets each triangle's edges with the plane. Unjoined. */
function slice(bvh: MeshBVH, plane: Plane): number {
  const line = new Line3();
  const met = new Vector3();
  const ends: Vector3[] = [];
  let length = 0;
  bvh.shapecast({
    intersectsBounds: (box) => plane.intersectsBox(box),
    intersectsTriangle: (triangle) => {
      ends.length = 0;
      for (const [from, to] of [
        [triangle.a, triangle.b],
        [triangle.b, triangle.c],
        [triangle.c, triangle.a],
      ]) {
        line.set(from, to);
        if (plane.intersectLine(line, met)) ends.push(met.clone());
      }
      if (ends.length === 2) length += ends[0].distanceTo(ends[1]);
    },
  });
  return length;
}

const geometryOf = (mesh: Mesh): BufferGeometry => {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(Float32Array.from(mesh.positions), 3));
  geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
  return geometry;
};

export const task: Task = {
  title: 'Section of 4.5 M triangles',
  async run() {
    const mesh = wavyMesh(1501);
    const start = performance.now();
    const bvh = new MeshBVH(geometryOf(mesh));
    const build = performance.now() - start;
    const rows: Row[] = [];
    const planes: [string, Vec3, Vec3][] = [
      ['across', [150, 150, 0], [1, 0.2, 0.1]],
      ['slanted', [150, 150, 0], [0.5, 0.7, 1]],
      ['level', [150, 150, 1.7], [0, 0, 1]],
    ];
    for (const [what, point, normal] of planes) {
      const section = cutMesh(mesh, { point, normal });
      // A scan cut for the first time, and a plane moved through it after that.
      const fresh = Array.from({ length: 8 }, () => ({ ...mesh, triangles: mesh.triangles.slice() }));
      const first = await milliseconds(() => cutMesh(fresh.pop()!, { point, normal }), 7);
      const again = await milliseconds(() => cutMesh(mesh, { point, normal }), 9);
      const plane = new Plane().setFromNormalAndCoplanarPoint(
        new Vector3(...normal).normalize(),
        new Vector3(...point),
      );
      const length = slice(bvh, plane);
      const agrees = Math.abs(length / sectionLength(section) - 1) < 1e-4;
      const sliced = await milliseconds(() => slice(bvh, plane), 9);
      const peer = `three-mesh-bvh shapecast ${inMs(sliced)}, unjoined`;
      for (const [when, ours, whole] of [
        ['first', first, build + sliced],
        ['again', again, sliced],
      ] as const)
        rows.push({
          what: `${what}, ${section.polylines.length} polylines, ${when}`,
          ours: inMs(ours),
          peer: `${peer}${when === 'first' ? ` after ${inMs(build)} of building` : ''}${agrees ? '' : ': ANOTHER LENGTH'}`,
          ratio: asRatio(whole / ours),
          bound: 'under 80 ms',
          held: ours < 80 && agrees,
        });
    }
    return rows;
  },
};
