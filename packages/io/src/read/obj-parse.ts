import type { ByteWindow } from './byte-window.js';
import { readDecimal } from './decimal.js';
import type { ObjBase, ObjPart } from './obj-part.js';
import { addColor, readObjStatement } from './obj-statement.js';

const tens = Int32Array.from([1, 10, 100, 1000]);
const more = new Float64Array(8);

/** `\n` or `\r`; the window always ends a line there. */
const endsLine = (c: number): boolean => c === 10 || c === 13;

/**
 * Parses the whole lines in [0, to) of the window into `part`, which has room for them.
 *
 * Vertices, normals and faces written plainly are read in one pass over the bytes, into scratch arrays without a check for room;
 * whatever else a line holds makes this path put the line back and hand it to readObjStatement. Indices are read four digits at a
 * time, as numbers are in decimal.ts.
 */
export function parseObj(window: ByteWindow, to: number, part: ObjPart, base: ObjBase, name: string): void {
  const { bytes, view } = window;
  const { positions, normals, triangles, cornerNormals, polygons } = part;
  let i = 0;
  while (i < to) {
    const start = i;
    let c = bytes[i];
    if (c === 102 && bytes[i + 1] <= 32 && !endsLine(bytes[i + 1])) {
      const line = base.lines + part.lines + 1;
      const first = part.corners;
      const firstPair = part.cornerPairs;
      const pointsBefore = base.points + part.points;
      const normalsBefore = base.normals + part.normalCount;
      let n = first;
      let pair = firstPair;
      let corners = 0;
      let largestPoint = -1;
      let largestNormal = -1;
      let match = true;
      i++;
      for (;;) {
        c = bytes[i];
        while (c === 32 || c === 9) c = bytes[++i];
        if (c === 10 || c === 13) break;
        // Index of the point.
        let isRelative = c === 45;
        if (isRelative) i++;
        let v = 0;
        let w = view.getUint32(i, true) ^ 0x30303030;
        let t = (w | (w + 0x06060606)) & 0xf0f0f0f0;
        if (t === 0) {
          w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
          v = (w & 0xff) * 100 + (w >>> 16);
          i += 4;
          w = view.getUint32(i, true) ^ 0x30303030;
          t = (w | (w + 0x06060606)) & 0xf0f0f0f0;
          if (t === 0) {
            w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
            v = v * 10000 + (w & 0xff) * 100 + (w >>> 16);
            i += 4;
            c = bytes[i] - 48;
            if (c >= 0 && c <= 9) {
              v = v * 10 + c;
              i++;
            }
          } else {
            const digits = (31 - Math.clz32(t & -t)) >> 3;
            if (digits > 0) {
              w <<= 32 - 8 * digits;
              w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
              v = Math.imul(v, tens[digits]) + ((w & 0xff) * 100 + (w >>> 16));
              i += digits;
            }
          }
        } else {
          const digits = (31 - Math.clz32(t & -t)) >> 3;
          if (digits > 0) {
            w <<= 32 - 8 * digits;
            w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
            v = (w & 0xff) * 100 + (w >>> 16);
            i += digits;
          }
        }
        // No index, index 0, or a relative one that reaches too far: for the other path to say.
        if (v === 0) {
          corners = -1;
          break;
        }
        v = isRelative ? pointsBefore - v : v - 1;
        if (v < 0) {
          corners = -1;
          break;
        }
        if (v > largestPoint) largestPoint = v;
        c = bytes[i];
        if (c === 47) {
          c = bytes[++i];
          // Texture: any index.
          if (c === 45) c = bytes[++i];
          while (c >= 48 && c <= 57) c = bytes[++i];
          if (c === 47) {
            c = bytes[++i];
            isRelative = c === 45;
            if (isRelative) i++;
            let vn = 0;
            w = view.getUint32(i, true) ^ 0x30303030;
            t = (w | (w + 0x06060606)) & 0xf0f0f0f0;
            if (t === 0) {
              w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
              vn = (w & 0xff) * 100 + (w >>> 16);
              i += 4;
              w = view.getUint32(i, true) ^ 0x30303030;
              t = (w | (w + 0x06060606)) & 0xf0f0f0f0;
              if (t === 0) {
                w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
                vn = vn * 10000 + (w & 0xff) * 100 + (w >>> 16);
                i += 4;
                c = bytes[i] - 48;
                if (c >= 0 && c <= 9) {
                  vn = vn * 10 + c;
                  i++;
                }
              } else {
                const digits = (31 - Math.clz32(t & -t)) >> 3;
                if (digits > 0) {
                  w <<= 32 - 8 * digits;
                  w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
                  vn = Math.imul(vn, tens[digits]) + ((w & 0xff) * 100 + (w >>> 16));
                  i += digits;
                }
              }
            } else {
              const digits = (31 - Math.clz32(t & -t)) >> 3;
              if (digits > 0) {
                w <<= 32 - 8 * digits;
                w = (Math.imul(w, 10) + (w >>> 8)) & 0x00ff00ff;
                vn = (w & 0xff) * 100 + (w >>> 16);
                i += digits;
              }
            }
            if (vn === 0) {
              corners = -1;
              break;
            }
            vn = isRelative ? normalsBefore - vn : vn - 1;
            if (vn < 0) {
              corners = -1;
              break;
            }
            if (vn !== v) match = false;
            if (vn > largestNormal) largestNormal = vn;
            cornerNormals[pair++] = v;
            cornerNormals[pair++] = vn;
          }
          c = bytes[i];
        }
        if (c > 32) {
          corners = -1;
          break;
        }
        if (corners > 2) {
          triangles[n] = triangles[first];
          triangles[n + 1] = triangles[n - 1];
          n += 2;
        }
        triangles[n++] = v;
        corners++;
      }
      if (corners >= 3) {
        i += c === 13 && bytes[i + 1] === 10 ? 2 : 1;
        part.lines++;
        part.corners = n;
        part.cornerPairs = pair;
        if (!match) part.normalsMatch = false;
        if (largestPoint > part.largestPoint) {
          part.largestPoint = largestPoint;
          part.largestPointLine = line;
        }
        if (largestNormal > part.largestNormal) {
          part.largestNormal = largestNormal;
          part.largestNormalLine = line;
        }
        if (corners > 3) {
          polygons[part.polygonValues++] = first / 3;
          polygons[part.polygonValues++] = corners;
        }
        continue;
      }
    } else if (c === 118) {
      c = bytes[++i];
      if (c === 32 || c === 9) {
        const at = 3 * part.points;
        let k = 0;
        for (; k < 3; k++) {
          while (bytes[i] === 32 || bytes[i] === 9) i++;
          const next = readDecimal(bytes, view, i, positions, at + k);
          if (next < 0) break;
          i = next;
        }
        c = bytes[i];
        while (c === 32 || c === 9) c = bytes[++i];
        if (k === 3 && (c === 10 || c === 13)) {
          i += c === 13 && bytes[i + 1] === 10 ? 2 : 1;
          part.lines++;
          part.points++;
          continue;
        }
        if (k === 3) {
          // A weight, or a color with or without one: a rarer kind of file, still one pass.
          let extra = 0;
          while (extra < 4 && c !== 10 && c !== 13) {
            const next = readDecimal(bytes, view, i, more, extra);
            if (next < 0) break;
            extra++;
            i = next;
            c = bytes[i];
            while (c === 32 || c === 9) c = bytes[++i];
          }
          if (c === 10 || c === 13) {
            i += c === 13 && bytes[i + 1] === 10 ? 2 : 1;
            part.lines++;
            part.points++;
            if (extra >= 3) addColor(part, more[0], more[1], more[2]);
            continue;
          }
        }
      } else if (c === 110 && bytes[i + 1] <= 32) {
        i++;
        const at = 3 * part.normalCount;
        let k = 0;
        for (; k < 3; k++) {
          while (bytes[i] === 32 || bytes[i] === 9) i++;
          const next = readDecimal(bytes, view, i, normals, at + k);
          if (next < 0) break;
          i = next;
        }
        c = bytes[i];
        while (c === 32 || c === 9) c = bytes[++i];
        if (k === 3 && (c === 10 || c === 13)) {
          i += c === 13 && bytes[i + 1] === 10 ? 2 : 1;
          part.lines++;
          part.normalCount++;
          continue;
        }
      } else if (c === 116 && bytes[i + 1] <= 32) {
        c = bytes[++i];
        while (c !== 10 && c !== 13) c = bytes[++i];
        if (bytes[i - 1] !== 92) {
          i += c === 13 && bytes[i + 1] === 10 ? 2 : 1;
          part.lines++;
          continue;
        }
      }
    } else if (c === 10 || c === 13) {
      i += c === 13 && bytes[i + 1] === 10 ? 2 : 1;
      part.lines++;
      continue;
    }
    i = readObjStatement(bytes, start, to, part, base, name);
  }
}
