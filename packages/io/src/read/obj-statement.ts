import { counted, countText } from '../text/number-text.js';
import { readDecimal, textOf } from './decimal.js';
import { excerpt } from './excerpt.js';
import type { ObjBase, ObjPart } from './obj-part.js';
import { unitNamedIn } from './units.js';

/** Lines at the start of a file whose comments may name the unit. */
export const UNIT_LINES = 100;

/** Statements that say nothing about points and faces: texture, grouping, names, points and lines as elements. */
const passedOver = new Set(
  'vt vp g o s mg usemtl mtllib l p maplib usemap bevel c_interp d_interp lod shadow_obj trace_obj call csh'.split(' '),
);
/** Free-form curves and surfaces. */
const curves = new Set(
  'cstype deg bmat step curv curv2 surf parm trim hole scrv sp end con ctech stech bsp bzp cdc cdp res'.split(' '),
);

/** Words an OBJ file's lines start with. */
export const objStatements: ReadonlySet<string> = new Set(['v', 'vn', 'f', 'fo', ...passedOver, ...curves]);

/** Makes the error for what stands wrong: its code, what and where. */
export type Refuse = (code: string, what: string) => Error;

const scratch = new Uint8Array(512);
const value = new Float64Array(1);

/**
 * Reads one statement of any form, continued over lines or not, with a clear message for every way it can be wrong. The fast
 * path of parse-obj.ts hands over whatever it does not know; both give the same for the same statement.
 * Gives the place behind the statement's last line end; lines are whole up to `to`.
 */
export function readObjStatement(
  bytes: Uint8Array,
  at: number,
  to: number,
  part: ObjPart,
  base: ObjBase,
  refuse: Refuse,
): number {
  let end = at;
  let lines = 0;
  const isComment = bytes[firstOf(bytes, at)] === 35;
  for (;;) {
    while (bytes[end] !== 10 && bytes[end] !== 13) end++;
    const continued = !isComment && end > at && bytes[end - 1] === 92;
    const stop = end;
    end += bytes[end] === 13 && bytes[end + 1] === 10 ? 2 : 1;
    lines++;
    if (continued && end < to) continue;
    readWords(textOf(bytes, at, stop), part, base, refuse, base.lines + part.lines + 1);
    part.lines += lines;
    return end;
  }
}

const firstOf = (bytes: Uint8Array, at: number): number => {
  let i = at;
  while (bytes[i] === 32 || bytes[i] === 9) i++;
  return i;
};

function readWords(text: string, part: ObjPart, base: ObjBase, refuse: Refuse, line: number): void {
  const comment = text.search(/(^|\s)#/);
  if (comment >= 0 && line <= UNIT_LINES && part.unit === undefined) {
    part.unit = unitNamedIn(text.slice(comment));
    part.unitLine = part.lines + 1;
  }
  const statement = (comment >= 0 ? text.slice(0, comment) : text).replace(/\\[\r\n]+/g, ' ').trim();
  if (statement === '') return;
  const keyword = statement.split(/\s/, 1)[0];
  const bad = (code: string, what: string) => refuse(code, `line ${countText(line)}: ${what}. Export it again.`);
  const number = (word: string): number => {
    const n = toNumber(word);
    if (n !== undefined) return n;
    const hint = /^[+-]?\d+,\d+/.test(word) ? ', decimals take a point' : '';
    throw bad('bad-number', `'${excerpt(statement)}' holds '${excerpt(word)}' where a number belongs${hint}`);
  };
  const index = (word: string, kind: 'vertex' | 'normal', have: number): number => {
    if (!/^[+-]?\d+$/.test(word)) {
      throw bad('bad-number', `'${excerpt(statement)}' holds '${excerpt(word)}' where an index belongs`);
    }
    const n = Number(word);
    if (n > 0 && n <= 0xffffffff) return n - 1;
    if (n < 0 && have + n >= 0) return have + n;
    if (n === 0) throw bad('index-out-of-range', `'${excerpt(statement)}' names ${kind} 0; they count from 1`);
    const many = kind === 'vertex' ? 'vertices' : undefined;
    throw bad(
      'index-out-of-range',
      `'${excerpt(statement)}' names ${kind} ${countText(n)}; ${counted(have, kind, many)} precede it`,
    );
  };

  switch (keyword) {
    case 'v': {
      const values = statement.split(/\s+/, 10).slice(1).map(number);
      if (values.length < 3 || values.length > 8) {
        throw bad('wrong-count', `'${excerpt(statement)}' has ${counted(values.length, 'value')}; a vertex has 3 to 8`);
      }
      for (let k = 0; k < 3; k++) part.positions[3 * part.points + k] = values[k];
      part.points++;
      if (values.length >= 6) addColor(part, values[3], values[4], values[5]);
      return;
    }
    case 'vn': {
      const values = statement.split(/\s+/, 5).slice(1).map(number);
      if (values.length !== 3) {
        throw bad('wrong-count', `'${excerpt(statement)}' has ${counted(values.length, 'value')}; a normal has 3`);
      }
      for (let k = 0; k < 3; k++) part.normals[3 * part.normalCount + k] = values[k];
      part.normalCount++;
      return;
    }
    case 'f':
    case 'fo': {
      const words = statement.split(/\s+/);
      const corners = words.length - 1;
      if (corners < 3) {
        part.lacking++;
        return;
      }
      const first = part.corners / 3;
      if (corners > 3) {
        part.polygons[part.polygonValues++] = first;
        part.polygons[part.polygonValues++] = corners;
      }
      let n = part.corners;
      for (let k = 0; k < corners; k++) {
        const refs = words[k + 1].split('/');
        if (refs.length > 3 || !/^[+-]?\d*$/.test(refs[1] ?? ''))
          throw bad('bad-face', `'${excerpt(words[k + 1])}' is no corner of a face`);
        const v = index(refs[0], 'vertex', base.points + part.points);
        if (v > part.largestPoint) {
          part.largestPoint = v;
          part.largestPointLine = part.lines + 1;
        }
        if (refs.length === 3 && refs[2] !== '') {
          const vn = index(refs[2], 'normal', base.normals + part.normalCount);
          part.cornerNormals[part.cornerPairs++] = v;
          part.cornerNormals[part.cornerPairs++] = vn;
          if (vn !== v) part.normalsMatch = false;
          if (vn > part.largestNormal) {
            part.largestNormal = vn;
            part.largestNormalLine = part.lines + 1;
          }
        }
        if (k > 2) {
          part.triangles[n] = part.triangles[3 * first];
          part.triangles[n + 1] = part.triangles[n - 1];
          n += 2;
        }
        part.triangles[n++] = v;
      }
      part.corners = n;
      return;
    }
    default:
      if (curves.has(keyword)) part.curves++;
      else if (!passedOver.has(keyword)) {
        if (part.unknown++ === 0) {
          part.unknownLine = part.lines + 1;
          part.unknownText = excerpt(statement);
        }
      }
  }
}

/** Gives the part's last point this color. */
export function addColor(part: ObjPart, r: number, g: number, b: number): void {
  const at = 3 * (part.points - 1);
  part.colorValues.fill(Number.NaN, part.colors, at);
  part.colorValues[at] = r;
  part.colorValues[at + 1] = g;
  part.colorValues[at + 2] = b;
  part.colors = at + 3;
}

function toNumber(word: string): number | undefined {
  if (word.length > 500) return Number.isNaN(Number(word)) ? undefined : Number(word);
  const { written } = new TextEncoder().encodeInto(word, scratch);
  scratch.fill(32, written, written + 8);
  return written > 0 && written < 504 && readDecimal(scratch, 0, value, 0) === written ? value[0] : undefined;
}
