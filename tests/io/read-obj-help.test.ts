import { mkdtempSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type ReadScan, readScan } from '@fettle/io';
import { openScan } from '@fettle/io/node';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
// The thread's file is a built one.
import { ObjHelp } from '../../packages/io/dist/node/obj-help.js';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'fettle-obj-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const grid = 300;
const points = Array.from(
  { length: grid * grid },
  (_, v) => [v % grid, Math.floor(v / grid), (v * 7919) % 101] as const,
);
const cells = Array.from({ length: (grid - 1) ** 2 }, (_, k) => k + Math.floor(k / (grid - 1)) + 1);
const vertices = points.map(([x, y, z]) => `v ${x / 7} ${y / 7} ${z / 300}`);
const normals = points.map(([x]) => `vn 0 ${x % 2 === 0 ? '-0.6' : '0.6'} 0.8`);
const faces = cells.map(
  (a) => `f ${a}//${a} ${a + 1}//${a + 1} ${a + grid + 1}//${a + grid + 1} ${a + grid}//${a + grid}`,
);
/** Comments so long that the file is large enough for two threads. */
const padding = Array.from({ length: 50_000 }, (_, i) => `# ${i} ${'-'.repeat(700)}`);
/** The lines with padding between them everywhere. */
const padded = (...blocks: (readonly string[])[]) => {
  const lines = blocks.flat();
  const every = Math.ceil(lines.length / padding.length);
  return lines.flatMap((line, i) => (i % every === 0 ? [padding[i / every]!, line] : [line]));
};
/** The lines with one changed, a fifth from the end: the other thread's. */
const changed = (lines: readonly string[], to: (line: string) => string) =>
  lines.map((line, i) => (i === Math.floor(0.8 * lines.length) ? to(line) : line));

const whole = padded(vertices, normals, faces);
const asText = (lines: readonly string[]) => `${lines.join('\n')}\n`;

const files: Readonly<Record<string, () => string>> = {
  'points, normals, faces': () => asText(whole),
  'line ends of two bytes': () => whole.join('\r\n'),
  'no last line end': () => whole.join('\n'),
  'statements over two lines': () => asText(whole).replaceAll(/^(f \S+ \S+|v \S+) /gm, '$1 \\\n'),
  'indices that count back': () =>
    asText(
      padded(
        vertices,
        cells.map(() => 'f -1 -2 -3'),
      ),
    ),
  'vertices behind the faces that name them': () => asText(padded(faces, normals, vertices)),
  'colors from the middle on': () =>
    asText(
      padded(
        vertices.map((v, i) => (i < 50_000 ? v : `${v} 0.25 0.5 1`)),
        faces.map((f) => f.replaceAll(/\/\/\d+/g, '')),
      ),
    ),
  'faces of which some name normals, some none and some those of others': () =>
    asText(
      padded(
        vertices,
        normals,
        faces.map((f, i) =>
          i % 20_000 < 5000 ? f.replaceAll(/\/\/\d+/g, '') : i > 70_000 ? f.replace(/\/\/\d+/, '//7') : f,
        ),
      ),
    ),
  'lines of no OBJ file': () =>
    asText(
      changed(
        changed(whole, (line) => `${line}\nhello there`),
        (line) => `${line}\nhello again`,
      ),
    ),
  'a face of two corners, which is dropped and counted': () => asText(changed(whole, () => 'f 1 2')),
  'units in comments behind the first hundred lines': () =>
    asText(whole.map((line, i) => (i > 100 && line.startsWith('#') ? `# units inch ${line}` : line))),
};

describe('a file large enough for two threads reads as in one', () => {
  it.each(Object.keys(files))('%s', async (name) => {
    const path = join(folder, 'large.obj');
    writeFileSync(path, files[name]!());
    const bytes = readFileSync(path);
    expect(ObjHelp.pays(bytes.length, 2)).toBe(true);
    expect(isSame(await openScan(path), await readScan(bytes, { name: 'large.obj' }))).toBe(true);
  });

  it.each([
    ['a word for a number', () => 'v 1 2 x'],
    ['vertex 0', () => 'f 1 2 0'],
    ['a vertex the file does not have', () => 'f 1 2 9000000'],
    ['a normal the file does not have', () => 'f 1//1 2//2 3//9000000'],
  ])('is refused in the same words: %s', async (_, line) => {
    const path = join(folder, 'wrong.obj');
    writeFileSync(path, asText(changed(whole, line)));
    const message = (reading: Promise<unknown>) =>
      reading.then(String, (error: Error) => `${error.name} ${error.message}`);
    const told = await message(openScan(path));
    expect(told).toMatch(/^FettleError wrong\.obj: line \d/);
    expect(told).toBe(await message(readScan(readFileSync(path), { name: 'wrong.obj' })));
  });

  it('tells progress to the last byte, and stops when told', async () => {
    const path = join(folder, 'progress.obj');
    writeFileSync(path, asText(whole));
    const seen: number[] = [];
    await openScan(path, { onProgress: (bytes) => seen.push(bytes) });
    expect(seen.at(-1)).toBe(readFileSync(path).length);
    expect(seen.every((bytes, i) => i === 0 || bytes > seen[i - 1]!)).toBe(true);
    const stopped = new AbortController();
    const reading = openScan(path, {
      signal: stopped.signal,
      onProgress: (bytes) => bytes > 5e6 && stopped.abort(new Error('enough')),
    });
    await expect(reading).rejects.toThrow('enough');
  });
});

it('the second thread reads what nobody claims, up to the first line, in the order of the file', async () => {
  const path = join(folder, 'alone.obj');
  const text = asText(vertices.slice(0, 5000));
  writeFileSync(path, text);
  const fd = openSync(path, 'r');
  const help = new ObjHelp(fd, text.length, 1 << 14);
  const ready = await help.ready();
  await help.end();
  await (await open(path)).close();
  expect(ready.length).toBe(Math.ceil(text.length / (1 << 14)));
  expect(ready.map((lines) => lines.from)).toEqual([0, ...ready.slice(0, -1).map((lines) => lines.to)]);
  expect(ready.at(-1)!.to).toBe(text.length);
  expect(ready.reduce((sum, lines) => sum + lines.points, 0)).toBe(5000);
});

const isSame = (a: ReadScan, b: ReadScan): boolean => {
  const bytes = (array: ArrayBufferView | undefined) =>
    array && Buffer.from(array.buffer, array.byteOffset, array.byteLength);
  for (const key of ['positions', 'triangles', 'normals', 'colors'] as const) {
    const [ours, theirs] = [bytes(a[key]), bytes(b[key])];
    if (ours === undefined ? theirs !== undefined : theirs === undefined || !ours.equals(theirs)) return false;
  }
  expect(a.source).toEqual(b.source);
  return true;
};
