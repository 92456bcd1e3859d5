import type { Vec3 } from '@fettle/geom';
import { BufferAttribute, BufferGeometry, type Color, Group, Points, PointsMaterial } from 'three';
import { LineMaterial } from 'three/addons/lines/LineMaterial.js';
import { LineSegments2 } from 'three/addons/lines/LineSegments2.js';
import { LineSegmentsGeometry } from 'three/addons/lines/LineSegmentsGeometry.js';

/** One set of lines of a color. `isOver`: drawn over the scan, else hidden by it. */
export interface CurveSet {
  /** Polylines, xyz xyz … each, scan axes, mm. */
  readonly lines: readonly (Float32Array | Float64Array)[];
  readonly closed?: readonly boolean[];
  readonly color: Color;
  /** Pixels. */
  readonly width: number;
  readonly isOver: boolean;
  /** Points of their own instead of lines. */
  readonly isDotted?: true;
}

/** Lines of features, sections and frames. */
export class Curves {
  readonly group = new Group();

  show(sets: readonly CurveSet[], origin: Vec3): void {
    this.dispose();
    for (const set of sets) {
      const object = set.isDotted ? dots(set, origin) : strokes(set, origin);
      object.frustumCulled = false;
      object.renderOrder = set.isOver ? 2 : 1;
      this.group.add(object);
    }
  }

  dispose(): void {
    for (const object of [...this.group.children] as (LineSegments2 | Points<BufferGeometry, PointsMaterial>)[]) {
      this.group.remove(object);
      object.geometry.dispose();
      object.material.dispose();
    }
  }
}

function strokes(set: CurveSet, origin: Vec3): LineSegments2 {
  const geometry = new LineSegmentsGeometry();
  geometry.setPositions(segments(set, origin));
  const { color, width, isOver } = set;
  // What lies on the scan would else be cut up by its noise.
  const nearer = { polygonOffset: !isOver, polygonOffsetFactor: -4, polygonOffsetUnits: -40 };
  return new LineSegments2(geometry, new LineMaterial({ color, linewidth: width, depthTest: !isOver, ...nearer }));
}

function dots({ lines, color, width, isOver }: CurveSet, origin: Vec3): Points<BufferGeometry, PointsMaterial> {
  const geometry = new BufferGeometry();
  const places = new Float32Array(lines.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const line of lines) for (let i = 0; i < line.length; i++) places[at++] = line[i]! - origin[i % 3]!;
  geometry.setAttribute('position', new BufferAttribute(places, 3));
  return new Points(
    geometry,
    new PointsMaterial({ color, size: width + 1, sizeAttenuation: false, depthTest: !isOver }),
  );
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
