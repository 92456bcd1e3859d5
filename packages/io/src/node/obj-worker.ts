/** The worker thread of a large OBJ file's reading: reads stretches of lines from the back of the file, as long as there are any. */
import { readSync } from 'node:fs';
import { parentPort, workerData } from 'node:worker_threads';
import { LONGEST_LINE, ObjStretches, statementStart } from '../read/obj-stretch.js';
import type { ObjWork } from './obj-help.js';
import { StretchClaims } from './stretch-claims.js';

/** Stretches that could not be read apart, after which the others are not tried. */
const PATIENCE = 3;
/** Bytes before a stretch that tell whether a line goes on in it. */
const BEFORE = 2;

const { fd, size, stretch, shared } = workerData as ObjWork;
const port = parentPort!;
const claims = new StretchClaims(0, shared);
const stretches = new ObjStretches(stretch + LONGEST_LINE);
const bytes = new Uint8Array(BEFORE + stretch + LONGEST_LINE + 16);

/** Reads stretch k and sends what it holds; false if it cannot be read apart. */
function read(k: number): boolean {
  const start = Math.max(k * stretch - BEFORE, 0);
  const end = Math.min((k + 1) * stretch + LONGEST_LINE, size);
  for (let have = 0; have < end - start; ) {
    const n = readSync(fd, bytes, have, end - start - have, start + have);
    if (n === 0) return false;
    have += n;
  }
  const first = k === 0 ? 0 : statementStart(bytes, k * stretch - start, end - start);
  const last = (k + 1) * stretch;
  const to = last >= size ? end - start : statementStart(bytes, last - start, end - start);
  if (first < 0 || to < first || bytes[to - 1] !== 10) return false;
  const shifted = bytes.subarray(first);
  const lines = stretches.read(shifted, to - first);
  if (lines === undefined) return false;
  const { positions, normals, colorValues, triangles, cornerNormals, polygons } = lines;
  const arrays = [positions, normals, colorValues, triangles, cornerNormals, polygons];
  port.postMessage(
    { ...lines, from: start + first, to: start + to },
    arrays.map((array) => array.buffer as ArrayBuffer),
  );
  return true;
}

let failed = 0;
while (failed < PATIENCE) {
  const k = claims.takeLast();
  if (k < 0) break;
  if (!read(k)) failed++;
}
