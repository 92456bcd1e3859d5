import type { LengthUnit } from './units.js';

/** Where in a file a stretch of lines starts: what came before it, which relative indices and messages count from. */
export interface ObjBase {
  points: number;
  normals: number;
  lines: number;
}

/** What a stretch of lines holds: arrays, and counts that say how much of them is filled. */
export interface ObjLines extends Readonly<Counts> {
  readonly positions: Float64Array<ArrayBuffer>;
  readonly normals: Float64Array | Float32Array<ArrayBuffer>;
  /** A color for each of the first `colors / 3` points, NaN for those without. */
  readonly colorValues: Float64Array | Float32Array;
  readonly triangles: Uint32Array<ArrayBuffer>;
  readonly cornerNormals: Uint32Array;
  readonly polygons: Uint32Array;
}

type Counts = Pick<
  ObjPart,
  | 'points'
  | 'normalCount'
  | 'colors'
  | 'corners'
  | 'cornerPairs'
  | 'polygonValues'
  | 'lines'
  | 'normalsMatch'
  | 'largestPoint'
  | 'largestPointLine'
  | 'largestNormal'
  | 'largestNormalLine'
  | 'unknown'
  | 'unknownLine'
  | 'unknownText'
  | 'curves'
  | 'lacking'
  | 'unit'
  | 'unitLine'
>;

/** Whether every corner of the stretch names a normal. */
export function namesAllNormals({ corners, cornerPairs, polygons, polygonValues }: ObjLines): boolean {
  const triangles = corners / 3;
  // A face has two corners more than triangles.
  let faces = triangles;
  for (let i = 1; i < polygonValues; i += 2) faces -= polygons[i] - 3;
  return cornerPairs / 2 === triangles + 2 * faces;
}

/** A stretch of lines being read. Arrays are scratch, used again for the next stretch. */
export class ObjPart implements ObjLines {
  positions = new Float64Array(0);
  normals = new Float64Array(0);
  /** A color for each of the first `colors / 3` points, NaN for those without. */
  colorValues = new Float64Array(0);
  /** Corners of triangles, from 0. */
  triangles = new Uint32Array(0);
  /** [point, normal] of every corner that names a normal, from 0. */
  cornerNormals = new Uint32Array(0);
  /** [first triangle, corners] of every polygon of four corners or more. */
  polygons = new Uint32Array(0);

  points = 0;
  normalCount = 0;
  colors = 0;
  corners = 0;
  cornerPairs = 0;
  polygonValues = 0;
  lines = 0;
  /** Whether every corner that names a normal names the one with its point's own number. */
  normalsMatch = true;
  /** Largest index of a point and of a normal, and the line where each stands first, counted from 1 in this stretch. */
  largestPoint = -1;
  largestPointLine = 0;
  largestNormal = -1;
  largestNormalLine = 0;
  /** Lines that are no statement of the format; the first of them and its number in this stretch. */
  unknown = 0;
  unknownLine = 0;
  unknownText = '';
  /** Lines of curves and surfaces, which are not read. */
  curves = 0;
  /** Faces of fewer than three corners. */
  lacking = 0;
  unit: LengthUnit | undefined;
  /** The line whose comment names it, in this stretch. */
  unitLine = 0;

  /** Empties the part and makes room for `bytes` bytes of lines, however they are filled. */
  clear(bytes: number): void {
    // Shortest statements: "v 0 0 0\n", "vn 0 0 0\n", "f 1 1 1\n", and two bytes for each more corner, which makes a triangle.
    if (this.positions.length < bytes >> 1) {
      this.positions = new Float64Array(bytes >> 1);
      this.normals = new Float64Array(bytes >> 1);
      this.colorValues = new Float64Array(bytes >> 1);
      this.triangles = new Uint32Array(2 * bytes);
      this.cornerNormals = new Uint32Array(bytes);
      this.polygons = new Uint32Array(bytes >> 1);
    }
    this.points = 0;
    this.normalCount = 0;
    this.colors = 0;
    this.corners = 0;
    this.cornerPairs = 0;
    this.polygonValues = 0;
    this.lines = 0;
    this.normalsMatch = true;
    this.largestPoint = -1;
    this.largestNormal = -1;
    this.unknown = 0;
    this.curves = 0;
    this.lacking = 0;
    this.unit = undefined;
  }
}
