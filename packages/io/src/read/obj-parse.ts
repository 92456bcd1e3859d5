import { readDecimal } from './decimal.js';
import type { ObjBase, ObjPart } from './obj-part.js';
import { addColor, type Refuse, readObjStatement } from './obj-statement.js';

/**
 * Parses the whole lines in [0, to) of `bytes` into `part`, which has room for them.
 *
 * Runs of vertices, normals and faces written plainly are read in one pass over the bytes, into scratch arrays without a check
 * for room; a line that holds anything else is left to readObjStatement. Both give the same for the same line.
 */
export function parseObj(bytes: Uint8Array, to: number, part: ObjPart, base: ObjBase, refuse: Refuse): void {
  let i = 0;
  while (i < to) {
    let next = i;
    const c = bytes[i];
    if (c === 102) next = plainFaces(bytes, i, to, part, base);
    else if (c === 118) {
      const second = bytes[i + 1];
      if (second === 32 || second === 9) next = plainVertices(bytes, i, to, part);
      else if (second === 110) next = plainNormals(bytes, i, to, part);
      else if (second === 116) next = textures(bytes, i, to, part);
    } else if (c === 10 || c === 13) {
      next = behindLineEnd(bytes, i);
      part.lines++;
    }
    i = next > i ? next : readObjStatement(bytes, i, to, part, base, refuse);
  }
}

/** The place behind the line end at `at`: a line feed, a carriage return, or both. */
const behindLineEnd = (bytes: Uint8Array, at: number): number =>
  bytes[at] === 13 && bytes[at + 1] === 10 ? at + 2 : at + 1;

/**
 * Faces, a line each, with indices of up to nine digits. Gives the place of the first line that is none, or not plain.
 *
 * Tried: a function a line takes a tenth longer, to fetch the arrays again; digits four at a time from one 32-bit
 * load take as long as one at a time in a function, and a tenth less in line, at four times the code.
 */
function plainFaces(bytes: Uint8Array, at: number, to: number, part: ObjPart, base: ObjBase): number {
  const { triangles, cornerNormals, polygons } = part;
  const pointsBefore = base.points + part.points;
  const normalsBefore = base.normals + part.normalCount;
  let { corners, cornerPairs, polygonValues, lines } = part;
  let { largestPoint, largestPointLine, largestNormal, largestNormalLine } = part;
  let isMatching = part.normalsMatch;
  let next = at;
  line: while (next < to) {
    let i = next;
    if (bytes[i] !== 102) break;
    let c = bytes[++i];
    let n = corners;
    let pair = cornerPairs;
    let largest = -1;
    let largestOfNormals = -1;
    let matches = true;
    while (c <= 32) {
      while (c === 32 || c === 9) c = bytes[++i];
      if (c === 10 || c === 13) break;
      let isRelative = c === 45;
      if (isRelative) c = bytes[++i];
      let from = i;
      let v = 0;
      while (c >= 48 && c <= 57) {
        v = (Math.imul(v, 10) + c - 48) | 0;
        c = bytes[++i];
      }
      // No index, index 0, one of more digits, a relative one that reaches too far: not for here to say.
      if (v === 0 || i - from > 9) break line;
      v = isRelative ? pointsBefore - v : v - 1;
      if (v < 0) break line;
      if (v > largest) largest = v;
      if (c === 47) {
        c = bytes[++i];
        // Texture: any index.
        if (c === 45) c = bytes[++i];
        while (c >= 48 && c <= 57) c = bytes[++i];
        if (c === 47) {
          c = bytes[++i];
          isRelative = c === 45;
          if (isRelative) c = bytes[++i];
          from = i;
          let vn = 0;
          while (c >= 48 && c <= 57) {
            vn = (Math.imul(vn, 10) + c - 48) | 0;
            c = bytes[++i];
          }
          if (vn === 0 || i - from > 9) break line;
          vn = isRelative ? normalsBefore - vn : vn - 1;
          if (vn < 0) break line;
          if (vn !== v) matches = false;
          if (vn > largestOfNormals) largestOfNormals = vn;
          cornerNormals[pair++] = v;
          cornerNormals[pair++] = vn;
        }
      }
      // From the fourth corner on, a fan: the first corner and the last one again.
      if (n > corners + 2) {
        triangles[n] = triangles[corners];
        triangles[n + 1] = triangles[n - 1];
        n += 2;
      }
      triangles[n++] = v;
    }
    if (n < corners + 3 || (c !== 10 && c !== 13)) break;
    lines++;
    if (n > corners + 3) {
      polygons[polygonValues++] = corners / 3;
      polygons[polygonValues++] = (n - corners) / 3 + 2;
    }
    corners = n;
    cornerPairs = pair;
    if (!matches) isMatching = false;
    if (largest > largestPoint) {
      largestPoint = largest;
      largestPointLine = lines;
    }
    if (largestOfNormals > largestNormal) {
      largestNormal = largestOfNormals;
      largestNormalLine = lines;
    }
    next = behindLineEnd(bytes, i);
  }
  part.corners = corners;
  part.cornerPairs = cornerPairs;
  part.polygonValues = polygonValues;
  part.lines = lines;
  part.largestPoint = largestPoint;
  part.largestPointLine = largestPointLine;
  part.largestNormal = largestNormal;
  part.largestNormalLine = largestNormalLine;
  part.normalsMatch = isMatching;
  return next;
}

const more = new Float64Array(4);

/** Vertices, a line each: coordinates, and perhaps a weight or a color. Gives the place of the first line that is none, or not plain. */
function plainVertices(bytes: Uint8Array, at: number, to: number, part: ObjPart): number {
  const { positions } = part;
  let next = at;
  while (next < to && bytes[next] === 118 && (bytes[next + 1] === 32 || bytes[next + 1] === 9)) {
    let i = readThree(bytes, next + 2, positions, 3 * part.points);
    if (i < 0) break;
    let extra = 0;
    while (bytes[i] !== 10 && bytes[i] !== 13) {
      if (extra === 4) return next;
      i = readDecimal(bytes, i, more, extra++);
      if (i < 0) return next;
      while (bytes[i] === 32 || bytes[i] === 9) i++;
    }
    part.points++;
    part.lines++;
    if (extra >= 3) addColor(part, more[0], more[1], more[2]);
    next = behindLineEnd(bytes, i);
  }
  return next;
}

/** Normals, a line each. Gives the place of the first line that is none, or not plain. */
function plainNormals(bytes: Uint8Array, at: number, to: number, part: ObjPart): number {
  const { normals } = part;
  let next = at;
  while (next < to && bytes[next] === 118 && bytes[next + 1] === 110 && bytes[next + 2] <= 32) {
    const i = readThree(bytes, next + 2, normals, 3 * part.normalCount);
    if (i < 0 || (bytes[i] !== 10 && bytes[i] !== 13)) break;
    part.normalCount++;
    part.lines++;
    next = behindLineEnd(bytes, i);
  }
  return next;
}

/** Reads three numbers into `out` from `k` on; gives the place of what stands behind them and the blanks that follow, or -1. */
function readThree(bytes: Uint8Array, at: number, out: Float64Array, k: number): number {
  let i = at;
  for (let n = k; n < k + 3; n++) {
    while (bytes[i] === 32 || bytes[i] === 9) i++;
    i = readDecimal(bytes, i, out, n);
    if (i < 0) return -1;
  }
  while (bytes[i] === 32 || bytes[i] === 9) i++;
  return i;
}

/** Texture coordinates, of no use here. Gives the place of the first line that is none, or that another continues. */
function textures(bytes: Uint8Array, at: number, to: number, part: ObjPart): number {
  let next = at;
  while (next < to && bytes[next] === 118 && bytes[next + 1] === 116 && bytes[next + 2] <= 32) {
    let i = next + 2;
    while (bytes[i] !== 10 && bytes[i] !== 13) i++;
    if (bytes[i - 1] === 92) break;
    part.lines++;
    next = behindLineEnd(bytes, i);
  }
  return next;
}
