import { execFileSync } from 'node:child_process';
import { closeSync, existsSync, mkdirSync, openSync, renameSync, statSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Scan } from '@fettle/geom';
import { writePly, writeStl } from '@fettle/io';
import { asRatio, inMs, type Row, type Task } from '../task.js';

/** Points along each side: 2.25 million points, 4.5 million triangles, as a hand-held scanner gives of a machine. */
const SIDE = 1500;
const child = fileURLToPath(new URL('../read-child.mjs', import.meta.url));
const folder = join(tmpdir(), 'fettle-bench');

export const task: Task = {
  title: 'Reading a scan of 4.5 million triangles, each reader in a process of its own, files in the page cache',
  long: true,
  async run() {
    const paths = makeFiles();
    const rows: Row[] = [];
    const gigabytes = (bytes: number) => `${(bytes / 1e9).toFixed(2)} GB`;
    const size = (path: string) => `${(statSync(path).size / 1e6).toFixed(0)} MB`;

    const touch = median(paths.obj, 'touch');
    const obj = median(paths.obj, 'fettle');
    const three = inChild(paths.obj, 'three');
    rows.push(
      {
        what: `OBJ, ${size(paths.obj)}`,
        ours: inMs(obj.ms),
        peer: `three OBJLoader ${inMs(three.ms)}`,
        ratio: asRatio(three.ms / obj.ms),
        bound: 'at least 15×',
        held: three.ms >= 15 * obj.ms,
      },
      {
        what: 'OBJ, peak memory of the process',
        ours: gigabytes(obj.peak),
        peer: `three OBJLoader ${gigabytes(three.peak)}`,
        ratio: asRatio(three.peak / obj.peak),
        bound: 'under a tenth',
        held: three.peak > 10 * obj.peak,
      },
      {
        what: 'OBJ, beside a loop that touches every byte',
        ours: inMs(obj.ms),
        peer: `touching ${inMs(touch.ms)}`,
        ratio: asRatio(touch.ms / obj.ms),
        bound: 'no more than twice the time',
        held: obj.ms <= 2 * touch.ms,
      },
    );
    const ply = median(paths.ply, 'fettle');
    const stl = median(paths.stl, 'fettle');
    const soup = median(paths.stl, 'unmerged');
    for (const [what, path, ours] of [
      [`binary PLY, ${size(paths.ply)}`, paths.ply, ply],
      [`binary STL, ${size(paths.stl)}, every corner a point (merge: false)`, paths.stl, soup],
    ] as const) {
      const file = median(path, 'file');
      rows.push({
        what: `${what}, beside reading the file into memory`,
        ours: inMs(ours.ms),
        peer: `readFileSync ${inMs(file.ms)}`,
        ratio: asRatio(file.ms / ours.ms),
        bound: 'no more than twice the time',
        held: ours.ms <= 2 * file.ms,
      });
    }
    rows.push({
      what: 'binary STL, reading and merging 13.5 million corners, as by default',
      ours: inMs(stl.ms),
      bound: 'under 3,000 ms',
      held: stl.ms < 3000,
    });
    for (const [format, ours] of [
      ['OBJ', obj],
      ['PLY', ply],
      ['STL', stl],
      ['STL, every corner a point', soup],
    ] as const) {
      const most = 2 * ours.arrays + 64e6;
      rows.push({
        what: `${format}, peak memory beside the finished arrays`,
        ours: gigabytes(ours.peak),
        peer: `arrays ${gigabytes(ours.arrays)}`,
        ratio: asRatio(ours.arrays / ours.peak),
        bound: `under ${gigabytes(most)}: twice the arrays and 64 MB`,
        held: ours.peak < most,
      });
    }
    return rows;
  },
};

interface Reading {
  readonly ms: number;
  readonly peak: number;
  readonly arrays: number;
}

function inChild(path: string, how: string): Reading {
  const output = execFileSync(process.execPath, ['--max-old-space-size=16384', child, how, path], {
    encoding: 'utf8',
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  return JSON.parse(output) as Reading;
}

/** The run of median time out of five, with the largest peak of them. */
function median(path: string, how: string): Reading {
  const runs = Array.from({ length: 5 }, () => inChild(path, how)).sort((a, b) => a.ms - b.ms);
  return { ...runs[2], peak: Math.max(...runs.map((run) => run.peak)) };
}

/** The mesh in every format, made once a machine. */
function makeFiles(): Record<'obj' | 'ply' | 'stl', string> {
  mkdirSync(folder, { recursive: true });
  const paths = { obj: join(folder, 'sheet.obj'), ply: join(folder, 'sheet.ply'), stl: join(folder, 'sheet.stl') };
  if (Object.values(paths).every(existsSync)) return paths;
  const scan = sheet();
  put(paths.obj, objAsScannersWrite(scan));
  put(paths.ply, writePly(scan));
  put(paths.stl, writeStl(scan));
  return paths;
}

function put(path: string, pieces: Iterable<Uint8Array | string>): void {
  const file = openSync(`${path}.part`, 'w');
  for (const piece of pieces) writeSync(file, piece as string);
  closeSync(file);
  renameSync(`${path}.part`, path);
}

/** A wavy sheet of 0.2 mm between points, with their scatter. */
function sheet(): Scan & { triangles: Uint32Array; normals: Float32Array } {
  const positions = new Float64Array(3 * SIDE * SIDE);
  const normals = new Float32Array(3 * SIDE * SIDE);
  const triangles = new Uint32Array(6 * (SIDE - 1) * (SIDE - 1));
  for (let j = 0, at = 0; j < SIDE; j++) {
    for (let i = 0; i < SIDE; i++, at += 3) {
      const x = 0.2 * (i - SIDE / 2);
      const y = 0.2 * (j - SIDE / 2);
      positions[at] = x + 0.03 * Math.sin(1.3 * j + i);
      positions[at + 1] = y + 0.03 * Math.cos(2.1 * i + j);
      positions[at + 2] = 200 + 20 * Math.sin(x / 30) * Math.cos(y / 25) + 0.05 * Math.sin(12.9898 * i + 78.233 * j);
      const a = (-20 / 30) * Math.cos(x / 30) * Math.cos(y / 25);
      const b = (20 / 25) * Math.sin(x / 30) * Math.sin(y / 25);
      const length = Math.hypot(a, b, 1);
      normals[at] = a / length;
      normals[at + 1] = b / length;
      normals[at + 2] = 1 / length;
    }
  }
  for (let j = 0, at = 0; j < SIDE - 1; j++) {
    for (let i = 0; i < SIDE - 1; i++, at += 6) {
      const a = j * SIDE + i;
      triangles.set([a, a + 1, a + SIDE + 1, a, a + SIDE + 1, a + SIDE], at);
    }
  }
  return { name: 'sheet', units: 'mm', positions, normals, triangles };
}

/** Six decimals, a normal a point, `f v//vn`: some 370 MB. */
function* objAsScannersWrite({ positions: p, normals: n, triangles: t }: ReturnType<typeof sheet>): Generator<string> {
  const LINES = 3 << 14;
  const pieces = function* (length: number, line: (i: number) => string) {
    for (let from = 0; from < length; from += LINES) {
      const lines: string[] = [];
      for (let i = from; i < Math.min(from + LINES, length); i += 3) lines.push(line(i));
      yield lines.join('');
    }
  };
  yield* pieces(p.length, (i) => `v ${p[i].toFixed(6)} ${p[i + 1].toFixed(6)} ${p[i + 2].toFixed(6)}\n`);
  yield* pieces(n.length, (i) => `vn ${n[i].toFixed(6)} ${n[i + 1].toFixed(6)} ${n[i + 2].toFixed(6)}\n`);
  yield* pieces(t.length, (i) => {
    const [a, b, c] = [t[i] + 1, t[i + 1] + 1, t[i + 2] + 1];
    return `f ${a}//${a} ${b}//${b} ${c}//${c}\n`;
  });
}
