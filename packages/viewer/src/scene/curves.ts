import type { Vec3 } from '@fettle/geom';
import {
  BufferAttribute,
  BufferGeometry,
  type ColorRepresentation,
  Group,
  LineBasicMaterial,
  LineSegments,
} from 'three';

/** One set of lines of a color. `isOver`: drawn over the scan, else hidden by it. */
export interface CurveSet {
  /** Polylines, xyz xyz … each, scan axes, mm. */
  readonly lines: readonly (Float32Array | Float64Array)[];
  readonly closed?: readonly boolean[];
  readonly color: ColorRepresentation;
  readonly isOver: boolean;
}

/** Lines of features, sections and frames. */
export class Curves {
  readonly group = new Group();

  show(sets: readonly CurveSet[], origin: Vec3): void {
    this.dispose();
    for (const set of sets) {
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', new BufferAttribute(segments(set, origin), 3));
      const material = new LineBasicMaterial({ color: set.color, depthTest: !set.isOver });
      const lines = new LineSegments(geometry, material);
      lines.frustumCulled = false;
      lines.renderOrder = set.isOver ? 2 : 1;
      this.group.add(lines);
    }
  }

  dispose(): void {
    for (const object of [...this.group.children]) {
      this.group.remove(object);
      const { geometry, material } = object as LineSegments<BufferGeometry, LineBasicMaterial>;
      geometry.dispose();
      material.dispose();
    }
  }
}

/** Both ends of every piece, from the origin of the drawn surface. */
function segments({ lines, closed }: CurveSet, origin: Vec3): Float32Array {
  const pieces = lines.map((line, l) => Math.max(0, line.length / 3 - (closed?.[l] ? 0 : 1)));
  const out = new Float32Array(6 * pieces.reduce((sum, n) => sum + n, 0));
  let at = 0;
  lines.forEach((line, l) => {
    const count = line.length / 3;
    for (let i = 0; i < pieces[l]!; i++)
      for (const p of [i, (i + 1) % count]) for (let k = 0; k < 3; k++) out[at++] = line[3 * p + k]! - origin[k]!;
  });
  return out;
}
